"""What a rigging sheet asks for: the stick positions at which each surface is measured, and what sides do there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import NamedTuple

from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import Target
from hingeline.units import Side

NEUTRAL = "neutral"
Key = tuple[str, str, Side]
"""Mode, command and side of a throw."""
_OPPOSED = {"": "stick", "aileron": "stick", "rudder": "rudder"}
"""Functions that move left and right opposed, and what commands them: of an aileron the function has no name."""


@dataclass(frozen=True)
class Position:
    """One commanded position of a surface, such as "up", "elevator down", "stick left", "crow 50 %" or "neutral".

    Targets are by side, none at neutral; `mix` is the preset that commands it by a switch, empty for a stick.
    """

    mode: str
    command: str
    targets: dict[Side, Target] = field(default_factory=dict)
    mix: str = ""

    @property
    def name(self) -> str:
        """Words for it."""
        return f"{self.command} ({self.mode})"

    def goal_deg(self, side: Side) -> float:
        """Where a side should stand, from neutral."""
        return self.targets[side].deflection_deg if side in self.targets else 0.0

    @property
    def opposed(self) -> bool:
        """Whether the sides are to move opposed."""
        return len({target.deflection_deg > 0 for target in self.targets.values()}) == len(BOTH)


def key_of(target: Target) -> Key:
    """What a throw is known by."""
    return target.mode, target.command, target.side


def positions(sheet: Sheet, surface: str) -> Iterator[Position]:
    """Yield the positions of a surface, mode by mode; what moves opposed is paired by the stick that commands it."""
    groups = groupby(sheet.targets(surface), key=lambda target: (target.mode, target.command))
    together = {key: {target.side: target for target in targets} for key, targets in groups}
    for (mode, command), targets in together.items():
        mix = command if command in sheet.presets.get(mode, {}) else ""
        stick = None if mix else _stick(sheet.surface(surface).kind, command)
        if stick is None or len(targets) == 1:
            yield Position(mode, command, targets, mix)
            continue
        function, direction = stick
        other = together.get((mode, command.replace(direction, _OTHER[direction])), {})
        if direction == "up" or not other:
            yield from _opposed(mode, _OPPOSED[function], {direction: targets, _OTHER[direction]: other})


_OTHER = {"up": "down", "down": "up"}


def _stick(kind: str, command: str) -> tuple[str, str] | None:
    """Split a command that moves the sides opposed into function and direction; None for other commands."""
    function, _, direction = command.rpartition(" ")
    opposed = function in ("aileron", "rudder") or (not function and kind == "aileron")
    return (function, direction) if opposed and direction in _OTHER else None


def _opposed(mode: str, stick: str, by_direction: dict[str, dict[Side, Target]]) -> Iterator[Position]:
    """Yield the stick to the left and to the right.

    An aileron rises on the side the stick goes to. So does the side of a V-tail that the rudder stick does not go to.
    """
    for toward, away in (BOTH, BOTH[::-1]):
        rising, falling = (toward, away) if stick == "stick" else (away, toward)
        moving = {rising: by_direction["up"].get(rising), falling: by_direction["down"].get(falling)}
        yield Position(mode, f"{stick} {toward}", {side: target for side in BOTH if (target := moving[side])})


class Measure(NamedTuple):
    """Something a sheet asks for: a command on a surface."""

    command: str
    surface: str


class Place(NamedTuple):
    """Where one reading is taken; a neutral has no mode."""

    surface: str
    mode: str
    command: str


def asked(sheet: Sheet) -> Iterator[Measure]:
    """Yield what a sheet asks for, surface by surface as the sensors are taped on."""
    for name, surface in sheet.surfaces.items():
        if len(surface.sides) == len(BOTH) or any(target.reference for target in sheet.neutrals(name)):
            yield Measure("neutral", name)
        if sheet.targets(name):
            yield Measure("throws", name)


def places(sheet: Sheet, measure: Measure) -> Iterator[Place]:
    """Yield where the readings are taken that make a measure."""
    if measure.command == "neutral":
        yield Place(measure.surface, "", NEUTRAL)
    else:
        for position in positions(sheet, measure.surface):
            yield Place(measure.surface, position.mode, position.command)
