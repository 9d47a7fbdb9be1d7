"""What a rigging sheet asks to be measured."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from hingeline.checks.positions import NEUTRAL, positions
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet


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
