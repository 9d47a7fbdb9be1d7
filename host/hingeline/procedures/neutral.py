"""Neutral: match left with right, reading again after each change."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from hingeline.checks.attitude import roll_text
from hingeline.checks.hinge import hinge_text
from hingeline.checks.judgement import Moment, Passing
from hingeline.checks.neutral import NeutralCheck, needs_faired
from hingeline.checks.results import HingeResult, NeutralResult
from hingeline.checks.values import Judgement
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import PATIENCE_S, Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument, on_surface, sensors_of
from hingeline.procedures.hinge import FindHinge, about, keep_hinges
from hingeline.procedures.procedure import Message, Next, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.words import brief_text, judgement_text, moved_text
from hingeline.rig.sheet import Sheet
from hingeline.storage.lost import lost_since

CLEVIS_S = 900.0
"""How long a change may take: a clevis is taken off, turned and put on again; common practice, no source."""
ROLL_DEG = 0.3
"""A roll below this is told by nobody: common practice, no source."""
AFTER_STROKE_S = 1.0
"""After the stroke the surface stands at neutral already, and need not move again: common practice, no source."""
END_DEG = 5.0
"""A side that goes so far at once, once it is matched, is moved by the stick: common practice, no source."""


@dataclass(frozen=True)
class Neutral(Procedure):
    """The neutrals of one surface, as far as its `check` was read; without a reference, that is taken first: faired.

    With `repeats` it goes on while the neutrals are matched, and stays there until the person goes on, by a key or by
    moving the stick to an end; else it is read once. `go_on` is the command that goes on after it has ended early.
    `reading` is the last one, with its `number`, at which it `stood`; `is_left` tells that the person went on.

    Where the ± is mostly that of where the hinge runs in the sensors, with `repeats` a slow `stroke` is asked for first
    and tells the `hinges`; a reading of before it is void. `is_blunt`: the person went on without it.
    """

    check: NeutralCheck
    repeats: bool = True
    go_on: str = ""
    reading: NeutralResult | None = None
    number: int = 0
    stood: NeutralReading | None = None
    is_left: bool = False
    stroke: FindHinge | None = None
    hinges: tuple[HingeResult, ...] = ()
    is_blunt: bool = False

    @property
    def step(self) -> Step | None:
        """Faired first where the sheet counts from there; then neutral, again and again."""
        surface, sensors = self.check.surface, sensors_of(self.check.instruments)
        settles = on_surface(self.check.instruments)
        if self.check.reference is None:
            return Step(f"{surface}: hold it faired with the fixed part, and still.", sensors, settles=settles)
        if self.stroke is not None:
            return self.stroke.step
        if self.is_left or (self.reading is not None and not self.repeats):
            return None
        ask = "sticks centred, hands off, both sensors at the same distance from the root."
        if self.reading is not None and self.reading.inside:
            ask = "within the tolerance. Go on: move the stick to an end, or press N."
        return Step(
            f"{surface}: {ask}",
            sensors,
            settles=settles,
            patience_s=PATIENCE_S if self.reading is None else CLEVIS_S,
            standing_s=AFTER_STROKE_S if self.hinges and self.reading is None else None,
            go_on="" if self.reading is None else self.go_on,
        )

    def after(self, event: Taken) -> Next[Neutral]:
        """Judge a reading, and say what to turn, or that the neutrals match."""
        if self.check.reference is None:
            faired = NeutralReading(self.check.instruments, event.readings)
            return Next(replace(self, check=replace(self.check, reference=faired)), taken="faired")
        if self.stroke is not None:
            return self._after_stroke(self.stroke.after(event))
        if self.reading is not None and self.reading.inside and (event.confirmed or self._is_at_an_end(event.readings)):
            return Next(replace(self, is_left=True), taken="going on")
        check, reading = replace(self.check, lost=self.check.lost | event.lost).read(event.readings)
        if self.repeats and not self.is_blunt and check.wants_hinge:
            stroke = FindHinge(
                check.sheet, check.surface, check.instruments, NeutralReading(check.instruments, event.readings)
            )
            text = f"{neutral_text(reading)}\nOne slow stroke first: it shows where the hinge runs in each sensor."
            return Next(replace(self, stroke=stroke, reading=None), taken="the first look", messages=(Message(text),))
        stood = NeutralReading(check.instruments, event.readings)
        following = replace(self, check=check, reading=reading, number=self.number + 1, stood=stood)
        roll = check.roll(event.readings)
        is_told = roll is not None and abs(roll.roll_deg) > ROLL_DEG
        messages = (Message(roll_text(roll)),) if roll is not None and is_told else ()
        if following.step is not None:
            brief = f"{check.surface}, neutral\n{neutral_text(reading, brief_text)}"
            messages = (*messages, Message(neutral_text(reading), brief))
        return Next(following, taken=f"reading {following.number}", messages=messages, results=(reading,))

    def _after_stroke(self, following: Next[FindHinge]) -> Next[Neutral]:
        """Measure about the hinges, once they are found: the neutral is read anew."""
        stroke = following.procedure
        if stroke.hinges is None:
            return Next(replace(self, stroke=stroke), following.taken, following.messages, following.results)
        check = replace(self.check, instruments=about(self.check.instruments, stroke.hinges), trims={}, before={})
        texts = tuple(Message(hinge_text(hinge)) for hinge in stroke.hinges)
        return Next(
            replace(self, check=check, stroke=None, hinges=stroke.hinges),
            following.taken,
            (*following.messages, *texts),
            following.results,
        )

    def _is_at_an_end(self, readings: Readings) -> bool:
        """Whether the surface has left neutral: the stick is at an end, no clevis was turned."""
        return self.check.is_far(readings, END_DEG)

    def skipped(self) -> Next[Neutral] | None:
        """Go on without the stroke; or with the neutrals as they are, once they were read."""
        if self.stroke is not None:
            return Next(replace(self, stroke=None, is_blunt=True), taken="going on without the stroke")
        return None if self.reading is None else Next(replace(self, is_left=True), taken="going on")

    def judge(self, readings: Readings) -> Iterable[Moment | Passing]:
        """Where the side that is matched, or each with a place of its own, is now."""
        return self.check.moments(readings) if self.stroke is None else self.stroke.judge(readings)


def neutral_text(reading: NeutralResult, text: Callable[[Judgement], str] = judgement_text) -> str:
    """A reading in words, a line for each judgement."""
    moved = moved_text(reading.moved_deg)
    return "\n".join([*map(text, reading.judgements), *([moved] if moved else [])])


def match_neutral(
    runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...], go_on: str
) -> tuple[NeutralResult, NeutralReading]:
    """Match the neutrals of a surface; where nobody is asked, read them once.

    Gives the last reading as it was judged, and as throws are measured from it. Raises as `Runner.run`.
    """
    datum = None if needs_faired(sheet, surface) else runner.datum()
    lost = frozenset() if datum is None else lost_since(runner.store, sensors_of(instruments), datum.date)
    check = NeutralCheck(sheet, surface, instruments, datum, lost=lost)
    procedure = runner.run(Neutral(check, runner.asks, go_on))
    keep_hinges(runner, sheet, procedure.hinges)
    if procedure.reading is None or procedure.stood is None:
        raise NotMeasurable(f"The neutral of the {surface} was not read", "Start again")
    return procedure.reading, procedure.stood
