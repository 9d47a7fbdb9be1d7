"""Direction: which way every side of a surface goes with its stick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hingeline.checks.direction import Command, commands, is_away, judge_direction
from hingeline.checks.results import DirectionResult
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import seat_on
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.rig.sheet import Sheet
from hingeline.units import signed


@dataclass(frozen=True)
class Direction(SurfaceProcedure):
    """Each command of a surface, and back to neutral between them.

    Attributes
    ----------
    readings
        Of the commands so far.
    is_away
        Whether the surface has still to come back to neutral.
    """

    readings: tuple[DirectionResult, ...] = ()
    is_away: bool = False

    @property
    def _commands(self) -> tuple[Command, ...]:
        return commands(self.sheet.surface(self.surface))

    @property
    def step(self) -> Step | None:
        """Neutral, then command after command."""
        if self.neutral is None:
            return Step(f"{self.surface}: sticks centred, hands off.", self.sensors)
        if len(self.readings) == len(self._commands):
            return None
        if self.is_away:
            return Step(f"{self.surface}: back to neutral.", self.sensors)
        command = self._commands[len(self.readings)]
        ask = f'{self.surface}: {command.stick}, all the way, hold, and say aloud "{command.call}".'
        return Step(ask, self.sensors)

    def after(self, event: Taken) -> Next[Direction]:
        """Take the neutral, a command that is held, or the way back."""
        if self.neutral is None:
            return self.at_neutral(event)
        deflections = self.neutral.deflections(event.readings)
        went = is_away(deflections)
        if self.is_away:
            return Next(replace(self, is_away=went))
        if not went and not event.confirmed:
            return Next(self, messages=(Message("Still near neutral: all the way, and hold."),))
        reading = judge_direction(self.surface, self._commands[len(self.readings)], deflections)
        following = replace(self, readings=(*self.readings, reading), is_away=True)
        return Next(
            following,
            taken=f"reading {len(following.readings)} of {len(self._commands)}",
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
