"""Play: push a surface lightly up, let go, down, let go, one side after the other."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from hingeline.checks.limits import joined
from hingeline.checks.play import STEPS, judge_play
from hingeline.checks.play import Step as Push
from hingeline.checks.results import CheckResult
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.surface import Examination
from hingeline.rig.quantities import Measure
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
    """The play of each side of a surface, one after the other, up and down so many `cycles`.

    Without a `limit` what is common in the sheet's profile holds. `results` are those of the sides before, `taken` the
    readings of this one; `unmoved` tells whether a push was asked for already, and nothing moved.
    """

    limit: Measure | None = None
    cycles: int = 5
    taken: tuple[Readings, ...] = ()
    unmoved: bool = False
    results: tuple[CheckResult, ...] = ()
    ask_neutral: ClassVar[str] = "servo powered, sticks centred, hands off."

    @property
    def sides(self) -> tuple[Instrument, ...]:
        """The side that is pushed now."""
        return self.instruments[len(self.results) :][:1]

    @property
    def place(self) -> str:
        """The surface and its side."""
        return f"{self.surface} {self.sides[0].side}"

    def next_step(self, neutral: NeutralReading) -> Step:
        """A push or a release."""
        cycle, step = divmod(len(self.taken), len(STEPS))
        words = f"{'nothing moved; ' if self.unmoved else ''}{_WORDS[STEPS[step]]}."
        return self.wait(words, f"{cycle + 1}", standing_s=STANDING_S)

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Play]:
        """Take a reading. Who lets go may move nothing; a push shows, or is confirmed at a key."""
        step = STEPS[len(self.taken) % len(STEPS)]
        if step.startswith("pushed") and not event.moved and not event.confirmed:
            return Next(self._unpushed() if self.unmoved else replace(self, unmoved=True))
        if wrong_way := self._wrong_way(step, neutral, event.readings):
            return Next(self, messages=(Message(wrong_way),))
        taken, wanted = (*self.taken, event.readings), self.cycles * len(STEPS)
        following = replace(self, taken=taken, unmoved=False)
        if len(taken) == wanted:
            following = following._next_side(judge_play(self.sheet, self.surface, neutral, taken, self.limit))
        return Next(following, taken=f"reading {len(taken)} of {wanted}")

    def _wrong_way(self, step: Push, neutral: NeutralReading, readings: Readings) -> str:
        """Why a reading is none of its step: the surface went the other way, as of one who is a step ahead."""
        (instrument,) = self.sides
        before = self.taken[-1] if self.taken else neutral.readings
        turn = instrument.deflection(instrument.gravity(before), instrument.gravity(readings))
        back_deg = -_WAYS[step] * turn.deflection_deg
        if back_deg <= max(STILL_DEG, COVERAGE_FACTOR * turn.standard_uncertainty_deg):
            return ""
        way = "down" if turn.deflection_deg < 0 else "up"
        return f"It went {way} by {back_deg:.1f}°, which is not taken: {_WORDS[step]}."

    def _next_side(self, result: CheckResult) -> Play:
        results = (*self.results, result)
        joint = joined(results) if len(results) == len(self.instruments) else None
        return replace(self, results=results, result=joint, neutral=None, taken=(), unmoved=False)

    def _unpushed(self) -> Play:
        problem = NotMeasurable(
            f"{self.place}, {len(self.taken) // len(STEPS) + 1}: no push was seen in {2 * STANDING_S:.0f} s, and what "
            "nobody pushes shows no play",
            "Start again and push the side that is asked for; where even a firm push moves nothing, press a key "
            "while you push",
        )
        note = f"{self.sides[0].side}: not measured. {problem}"
        result = CheckResult.of("play", (), notes=(note,))
        return replace(self._next_side(result), problem=problem)
