"""Neutral: match left with right, reading again after each change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

from hingeline.checks.moment import Moment
from hingeline.checks.neutral import NeutralCheck, needs_faired
from hingeline.checks.results import NeutralResult
from hingeline.checks.values import Judgement
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import PATIENCE_S, Readings
from hingeline.measure.pipeline import Instrument, sensors_of
from hingeline.procedures.procedure import Message, Next, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.words import brief_text, judgement_text, moved_text
from hingeline.rig.sheet import Sheet
from hingeline_calibration.datum import Datum

CLEVIS_S = 900.0
"""How long a change may take: a clevis is taken off, turned and put on again; common practice, no source."""


@dataclass(frozen=True)
class Neutral(Procedure):
    """The neutrals of one surface.

    Attributes
    ----------
    sheet, surface, instruments
        What is measured, and with what.
    reference
        The datum, or the readings in the faired position; None before these are taken.
    repeats
        Whether it goes on until the neutrals match; else one reading is taken.
    go_on
        The command that goes on after it has ended early.
    check
        As far as it was read.
    reading
        The last one.
    is_left
        Whether the person went on, matched or not.
    """

    sheet: Sheet
    surface: str
    instruments: tuple[Instrument, ...]
    reference: Datum | Readings | None
    repeats: bool = True
    go_on: str = ""
    check: NeutralCheck | None = None
    reading: NeutralResult | None = None
    is_left: bool = False
    number: int = 0

    def __post_init__(self) -> None:
        """Refuse, before anything is asked, a sheet that gives nothing to match. Raises as `NeutralCheck`."""
        if self.reference is not None and self.check is None:
            NeutralCheck(self.sheet, self.surface, self.instruments, self.reference)

    @cached_property
    def _check(self) -> NeutralCheck:
        if self.check is not None:
            return self.check
        return NeutralCheck(self.sheet, self.surface, self.instruments, self.reference or {})

    @property
    def step(self) -> Step | None:
        """Faired first where the sheet counts from there; then neutral, again and again."""
        sensors = sensors_of(self.instruments)
        if self.reference is None:
            return Step(f"{self.surface}: hold it faired with the fixed part, and still.", sensors)
        if self.is_left or (self.reading is not None and (self.reading.inside or not self.repeats)):
            return None
        return Step(
            f"{self.surface}: sticks centred, hands off, both sensors at the same distance from the root.",
            sensors,
            patience_s=PATIENCE_S if self.reading is None else CLEVIS_S,
            go_on="" if self.reading is None else self.go_on,
        )

    def after(self, event: Taken) -> Next[Neutral]:
        """Judge a reading, and say what to turn where the neutrals do not match yet."""
        if self.reference is None:
            for instrument in self.instruments:
                instrument.at_neutral(event.readings)
            return Next(replace(self, reference=event.readings), taken="faired")
        check, reading = self._check.read(event.readings)
        following = replace(self, check=check, reading=reading, number=self.number + 1)
        messages: tuple[Message, ...] = ()
        if following.step is not None:
            brief = f"{self.surface}, neutral\n{neutral_text(reading, brief_text)}"
            messages = (Message(neutral_text(reading), brief),)
        return Next(
            following,
            taken=f"reading {following.number}",
            messages=messages,
            results=(reading,),
        )

    def skipped(self) -> Next[Neutral] | None:
        """Go on with the neutrals as they are, once they were read."""
        if self.reading is None:
            return None
        return Next(replace(self, is_left=True), taken="going on")

    def judge(self, readings: Readings) -> tuple[Moment, ...]:
        """Where the side that is matched, or each with a place of its own, is now."""
        return () if self.reference is None else self._check.moments(readings)


def neutral_text(reading: NeutralResult, text: Callable[[Judgement], str] = judgement_text) -> str:
    """A reading in words, a line for each judgement."""
    moved = moved_text(reading.moved_deg)
    return "\n".join([*map(text, reading.judgements), *([moved] if moved else [])])


def match_neutral(
    runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...], go_on: str
) -> NeutralResult:
    """Match the neutrals of a surface; where nobody is asked, read them once. Raises as `Runner.run`."""
    reference = None if needs_faired(sheet, surface) else runner.datum()
    procedure = runner.run(Neutral(sheet, surface, instruments, reference, runner.asks, go_on))
    if procedure.reading is None:
        raise NotMeasurable(f"The neutral of the {surface} was not read", "Start again")
    return procedure.reading
