"""Play: push a surface lightly up, let go, down, let go, one side after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hingeline.checks.limits import joined
from hingeline.checks.play import STEPS, judge_play
from hingeline.checks.results import CheckResult
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import Examination, read_limit
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Sheet
from hingeline_calibration.budget import COVERAGE_FACTOR

STANDING_S = 10.0
"""What has not moved for so long after it was to be pushed does not move."""
STILL_DEG = 0.1
"""A surface that goes the wrong way by less has not gone: common practice, no source."""
_WAYS = {"pushed up": 1, "let go from above": -1, "pushed down": -1, "let go from below": 1}
"""Which way a step takes the trailing edge, if it moves it at all: 1 is up."""
_WORDS = {
    "pushed up": "push its trailing edge up with one finger, lightly, and hold",
    "let go from above": "let go",
    "pushed down": "push it down, lightly, and hold",
    "let go from below": "let go",
}


@dataclass(frozen=True)
class Play(Examination):
    """The play of each side of a surface.

    Attributes
    ----------
    limit
        What is acceptable; None for what is common in the sheet's profile.
    cycles
        How often up and down.
    taken
        The readings of the side that is pushed now.
    unmoved
        Whether a push was asked for already, and nothing moved.
    results
        Of the sides before.
    """

    limit: Measure | None = None
    cycles: int = 5
    taken: tuple[Readings, ...] = ()
    unmoved: bool = False
    results: tuple[CheckResult, ...] = ()

    @property
    def step(self) -> Step | None:
        """Of each side the neutral, then pushes and releases."""
        if len(self.results) == len(self.instruments):
            return None
        (instrument,) = self._read_now
        sensors = (instrument.sensor_id,)
        place = f"{self.surface} {instrument.side}"
        if self.neutral is None:
            return Step(f"{place}: servo powered, sticks centred, hands off.", sensors)
        cycle, step = divmod(len(self.taken), len(STEPS))
        words = _WORDS[STEPS[step]]
        if self.unmoved:
            words = f"nothing moved; {words}"
        return Step(f"{place}, {cycle + 1}: {words}.", sensors, standing_s=STANDING_S)

    def after(self, event: Taken) -> Next[Play]:
        """Take a reading. Who lets go may move nothing; a push shows, or is confirmed at a key."""
        if self.neutral is None:
            return self.at_neutral(event)
        pushes = STEPS[len(self.taken) % len(STEPS)].startswith("pushed")
        if pushes and not event.moved and not event.confirmed:
            return Next(self._unpushed() if self.unmoved else replace(self, unmoved=True))
        if wrong_way := self._wrong_way(self.neutral.readings, event.readings):
            return Next(self, messages=(Message(wrong_way),))
        taken, wanted = (*self.taken, event.readings), self.cycles * len(STEPS)
        following = replace(self, taken=taken, unmoved=False)
        if len(taken) == wanted:
            result = judge_play(self.sheet, self.surface, self.neutral, taken, self.limit)
            following = following._next_side(result)
        return Next(following, taken=f"reading {len(taken)} of {wanted}")

    @property
    def result(self) -> CheckResult:
        """What all sides come to."""
        return joined(self.results)

    @property
    def _read_now(self) -> tuple[Instrument, ...]:
        """Of the side that is pushed."""
        return self.instruments[len(self.results) : len(self.results) + 1]

    def _wrong_way(self, neutral: Readings, readings: Readings) -> str:
        """Why a reading is none of its step: the surface went the other way, as of one who is a step ahead."""
        (instrument,) = self._read_now
        before = self.taken[-1] if self.taken else neutral
        turn = instrument.deflection(instrument.gravity(before), instrument.gravity(readings))
        step = STEPS[len(self.taken) % len(STEPS)]
        back_deg = -_WAYS[step] * turn.deflection_deg
        if back_deg <= max(STILL_DEG, COVERAGE_FACTOR * turn.standard_uncertainty_deg):
            return ""
        way = "down" if turn.deflection_deg < 0 else "up"
        return f"It went {way} by {back_deg:.1f}°, which is not taken: {_WORDS[step]}."

    def _next_side(self, result: CheckResult) -> Play:
        return replace(self, results=(*self.results, result), neutral=None, taken=(), unmoved=False)

    def _unpushed(self) -> Play:
        (instrument,) = self._read_now
        cycle, _ = divmod(len(self.taken), len(STEPS))
        problem = NotMeasurable(
            f"{self.surface} {instrument.side}, {cycle + 1}: no push was seen in {2 * STANDING_S:.0f} s, and what "
            "nobody pushes shows no play",
            "Start again and push the side that is asked for; where even a firm push moves nothing, press a key "
            "while you push",
        )
        note = f"{instrument.side}: not measured. {problem}"
        result = CheckResult.of("play", (), surface=self.surface, notes=(note,))
        return replace(self._next_side(result), problem=problem)


def begin_play(runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]) -> Play:
    """Begin as the choices of the run have it. Raises `UsageProblem` where the limit is none."""
    limit = read_limit(runner.choices["limit"])
    return Play(sheet, surface, instruments, limit=limit, cycles=runner.choices["cycles"])
