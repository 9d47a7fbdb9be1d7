"""Neutral: match left with right, reading again after each change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from hingeline.checks.judgement import Moment
from hingeline.checks.neutral import NeutralCheck, needs_faired
from hingeline.checks.results import NeutralResult
from hingeline.checks.values import Judgement
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import PATIENCE_S, Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument, sensors_of
from hingeline.procedures.procedure import Message, Next, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.words import brief_text, judgement_text, moved_text
from hingeline.rig.sheet import Sheet

CLEVIS_S = 900.0
"""How long a change may take: a clevis is taken off, turned and put on again; common practice, no source."""


@dataclass(frozen=True)
class Neutral(Procedure):
    """The neutrals of one surface, as far as its `check` was read; without a reference, that is taken first: faired.

    It goes on until the neutrals match, or with `repeats` off is read once. `go_on` is the command that goes on after
    it has ended early. `reading` is the last one, with its `number`; `is_left` tells that the person went on.
    """

    check: NeutralCheck
    repeats: bool = True
    go_on: str = ""
    reading: NeutralResult | None = None
    number: int = 0
    is_left: bool = False

    @property
    def step(self) -> Step | None:
        """Faired first where the sheet counts from there; then neutral, again and again."""
        surface, sensors = self.check.surface, sensors_of(self.check.instruments)
        if self.check.reference is None:
            return Step(f"{surface}: hold it faired with the fixed part, and still.", sensors)
        if self.is_left or (self.reading is not None and (self.reading.inside or not self.repeats)):
            return None
        return Step(
            f"{surface}: sticks centred, hands off, both sensors at the same distance from the root.",
            sensors,
            patience_s=PATIENCE_S if self.reading is None else CLEVIS_S,
            go_on="" if self.reading is None else self.go_on,
        )

    def after(self, event: Taken) -> Next[Neutral]:
        """Judge a reading, and say what to turn where the neutrals do not match yet."""
        if self.check.reference is None:
            faired = NeutralReading(self.check.instruments, event.readings)
            return Next(replace(self, check=replace(self.check, reference=faired)), taken="faired")
        check, reading = self.check.read(event.readings)
        following = replace(self, check=check, reading=reading, number=self.number + 1)
        messages: tuple[Message, ...] = ()
        if following.step is not None:
            brief = f"{check.surface}, neutral\n{neutral_text(reading, brief_text)}"
            messages = (Message(neutral_text(reading), brief),)
        return Next(following, taken=f"reading {following.number}", messages=messages, results=(reading,))

    def skipped(self) -> Next[Neutral] | None:
        """Go on with the neutrals as they are, once they were read."""
        return None if self.reading is None else Next(replace(self, is_left=True), taken="going on")

    def judge(self, readings: Readings) -> tuple[Moment, ...]:
        """Where the side that is matched, or each with a place of its own, is now."""
        return self.check.moments(readings)


def neutral_text(reading: NeutralResult, text: Callable[[Judgement], str] = judgement_text) -> str:
    """A reading in words, a line for each judgement."""
    moved = moved_text(reading.moved_deg)
    return "\n".join([*map(text, reading.judgements), *([moved] if moved else [])])


def match_neutral(
    runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...], go_on: str
) -> NeutralResult:
    """Match the neutrals of a surface; where nobody is asked, read them once. Raises as `Runner.run`."""
    check = NeutralCheck(sheet, surface, instruments, None if needs_faired(sheet, surface) else runner.datum())
    procedure = runner.run(Neutral(check, runner.asks, go_on))
    if procedure.reading is None:
        raise NotMeasurable(f"The neutral of the {surface} was not read", "Start again")
    return procedure.reading
