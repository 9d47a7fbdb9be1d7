"""Throws: from neutral to each position of the rigging sheet, mode by mode."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from textwrap import indent

from hingeline.checks.hinge import hinge_text
from hingeline.checks.judgement import Moment
from hingeline.checks.linkage import chain_of
from hingeline.checks.positions import Position
from hingeline.checks.results import HingeResult, Skipped, ThrowResult
from hingeline.checks.summary import Summary, given_differentials, summarise
from hingeline.checks.throws import STANDING_S, ThrowsCheck
from hingeline.checks.values import Judgement
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import seat_on
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.procedures.words import brief_text, judgement_text, moved_text
from hingeline.rig.sheet import Sheet

PATIENCE_S = 900.0
"""Between two throws a linkage is looked at, or an end point is set; common practice, no source."""


@dataclass(frozen=True)
class Throws(SurfaceProcedure):
    """The throws of one surface: the positions of each mode, gone through so many `cycles`.

    `check` is as far as it was read, from neutral; `stop` is the number of the position that is held next, from 0.
    `readings` and `left_out` are in their order.
    """

    cycles: int = 1
    check: ThrowsCheck | None = None
    stop: int = 0
    readings: tuple[ThrowResult, ...] = ()
    left_out: tuple[Skipped, ...] = ()

    @cached_property
    def _stops(self) -> list[tuple[Position, int]]:
        return [] if self.check is None else self.check.stops(self.cycles)

    @property
    def position(self) -> Position | None:
        """What is held next; None before the neutral and at the end."""
        return self._stops[self.stop][0] if self.stop < len(self._stops) else None

    def next_step(self, neutral: NeutralReading) -> Step | None:
        """Each position."""
        position = self.position
        if self.check is None or position is None:
            return None
        way = "all the way, and hold" if position.targets else "sticks centred, hands off"
        standing_s = None
        if self.check.looks_as_before(position):
            standing_s = STANDING_S
            way = f"and hold: it stays where it is, and is taken after {STANDING_S:.0f} s"
        return self.wait(f"{position.name}, {way}.", patience_s=PATIENCE_S, standing_s=standing_s)

    def at_neutral(self, event: Taken) -> Next[Throws]:
        """Take the neutral, and say so."""
        neutral = NeutralReading(self.instruments, event.readings)
        check = ThrowsCheck(self.sheet, self.surface, neutral)
        taken = replace(self, neutral=neutral, check=check)
        return Next(taken, taken="neutral", messages=(Message("Neutral taken."),))

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Throws]:
        """Judge a reading at a position, unless the surface is not there yet."""
        assert self.check is not None
        position, cycle = self._stops[self.stop]
        if not event.confirmed and self.check.under_way(position, event.readings):
            return Next(self, messages=(_not_there(position, self.check.went_on(event.readings)),))
        check, reading = self.check.read(position, event.readings, cycle)
        name = position.name + (f", cycle {cycle}" if self.cycles > 1 else "")
        title = f"{self.surface}, {name}"
        text = _text(title, reading, judgement_text)
        return Next(
            replace(self, check=check, stop=self.stop + 1, readings=(*self.readings, reading)),
            taken=name,
            messages=(Message(text, _text(title, reading, brief_text), is_data=True),),
            results=(reading,),
        )

    def skipped(self) -> Next[Throws] | None:
        """Leave a position out, which is recorded."""
        if self.check is None:
            return None
        position, cycle = self._stops[self.stop]
        skipped = Skipped(self.surface, position.mode, position.command, cycle)
        return Next(
            replace(self, stop=self.stop + 1, left_out=(*self.left_out, skipped)),
            taken=f"leaving out {position.name}",
            messages=(Message(f"Left out: {position.name}."),),
            results=(skipped,),
        )

    def judge(self, readings: Readings) -> tuple[Moment, ...]:
        """Where each side is now beside the target of the position that is asked for."""
        if self.check is None or self.position is None:
            return ()
        return self.check.moments(self.position, readings)


def _not_there(position: Position, went_on: bool) -> Message:
    """What is said of a rest that is not the position asked for."""
    if went_on:
        return Message("It went on from where it was read, which was on its way: B takes that reading back.")
    way = "move it all the way" if position.targets else "centre the sticks"
    return Message(f"Not there yet: {way}", or_key=True)


def _text(title: str, reading: ThrowResult, text: Callable[[Judgement], str]) -> str:
    rows = [title, *(indent(text(judgement), "  ") for judgement in reading.judgements)]
    return "\n".join(rows + ([f"  {moved_text(reading.moved_deg)}"] if reading.moved_deg is not None else []))


@dataclass(frozen=True)
class SurfaceThrows:
    """What the throws of one surface come to."""

    readings: tuple[ThrowResult, ...]
    left_out: tuple[Skipped, ...]
    summary: Summary
    hinges: tuple[HingeResult, ...]

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """Words for each position that was left out and not read in another cycle either."""
        read = {(reading.mode, reading.command) for reading in self.readings}
        left_out = dict.fromkeys((each.mode, each.command) for each in self.left_out)
        return tuple(Position(*place).name for place in left_out if place not in read)

    @property
    def inside(self) -> bool:
        """Whether everything was measured and is within the tolerance."""
        return not self.unmeasured and all(reading.inside for reading in self.readings)

    def text(self) -> str:
        """For a reader, what the readings, which were shown one by one, say together."""
        parts = [f"Not measured: {', '.join(self.unmeasured)}."] if self.unmeasured else []
        parts += filter(None, [self.summary.text()])
        parts += [f"{hinge_text(hinge)}: find it with `hingeline hinge`" for hinge in self.hinges if hinge.beyond]
        return "\n".join(parts)


def check_throws(runner: Runner, sheet: Sheet, surface: str, surfaces: Sequence[str]) -> SurfaceThrows:
    """Check the throws of one of several surfaces, once the sensors are on it. Raises as `Runner.run`."""
    instruments = seat_on(runner, sheet, surface, surfaces, by_wiggle=True)
    procedure = runner.run(Throws(sheet, surface, instruments, cycles=runner.choices["cycles"]))
    given, check = sheet.surface(surface), procedure.check
    assert check is not None
    summary = summarise(procedure.readings, check.positions, chain_of(given.linkage), given_differentials(given))
    return SurfaceThrows(procedure.readings, procedure.left_out, summary, check.hinges())
