"""Direction: which way every side of a surface goes with its stick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hingeline.checks.direction import Command, commands, is_away, judge_direction
from hingeline.checks.results import DirectionResult
from hingeline.measure.neutral import NeutralReading
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import seat_on
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.rig.sheet import Sheet
from hingeline.units import signed


@dataclass(frozen=True)
class Direction(SurfaceProcedure):
    """Each command of a surface, and back to neutral between them: it `is_away` until it has come back."""

    readings: tuple[DirectionResult, ...] = ()
    is_away: bool = False

    @property
    def _to_do(self) -> tuple[Command, ...]:
        return commands(self.sheet.surface(self.surface))[len(self.readings) :]

    def next_step(self, neutral: NeutralReading) -> Step | None:
        """Command after command."""
        if not self._to_do:
            return None
        if self.is_away:
            return self.wait("back to neutral.")
        command = self._to_do[0]
        return self.wait(f'{command.stick}, all the way, hold, and say aloud "{command.call}".')

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Direction]:
        """Take a command that is held, or the way back."""
        deflections, to_do = neutral.deflections(event.readings), self._to_do
        if self.is_away:
            return Next(replace(self, is_away=is_away(deflections)))
        if not is_away(deflections) and not event.confirmed:
            return Next(self, messages=(Message("Still near neutral: all the way, and hold."),))
        reading = judge_direction(self.surface, to_do[0], deflections)
        readings = (*self.readings, reading)
        return Next(
            replace(self, readings=readings, is_away=True),
            taken=f"reading {len(readings)} of {len(self.readings) + len(to_do)}",
            messages=(Message("\n".join(_rows(self.surface, reading)), is_data=True),),
            results=(reading,),
        )


def check_direction(runner: Runner, sheet: Sheet, surface: str, surfaces: Sequence[str]) -> tuple[DirectionResult, ...]:
    """Check one of several surfaces, once the sensors are on it. Raises as `Runner.run`."""
    instruments = seat_on(runner, sheet, surface, surfaces)
    return runner.run(Direction(sheet, surface, instruments)).readings


def _rows(surface: str, reading: DirectionResult) -> list[str]:
    rows = [
        f"{surface}, {reading.command}: {side} went {way.went} ({signed(way.deg, 1)}°), "
        f"expected {way.expected}: {'correct' if way.right_way else 'WRONG WAY'}"
        for side, way in reading.sides.items()
    ]
    return [*rows, *(f"    candidate: {cause}" for cause in reading.candidates)]
