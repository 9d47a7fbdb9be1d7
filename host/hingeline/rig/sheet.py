"""The rigging sheet: what a `*.rig.toml` may hold, and every target in it. docs/rigging-sheet.md is the reference."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any, Literal

from pydantic import model_validator

from hingeline.errors import SheetError
from hingeline.rig.kinds import KINDS
from hingeline.rig.quantities import Measure, Percent, Position
from hingeline.rig.surface import Convention, Name, SheetTable, Surface
from hingeline.rig.targets import NeutralTarget, Target, function_of, tolerance_of, travel_of
from hingeline.rig.tolerances import PROFILES, SheetTolerances, ToleranceName
from hingeline.rig.toml_mistakes import nearest, one_of
from hingeline.rig.toml_models import key


class Sheet(SheetTable):
    """A whole rigging sheet."""

    schema_version: Literal[1] = key("version of this format, 1", 1)
    aircraft: Name = key("name of the aircraft", "my aircraft")
    modes: tuple[Name, ...] = key("rates or flight modes, in the order to check them", ["low", "high"])
    convention: Convention = key("how mm are measured: ruler, height or arc; left out, ruler", "ruler", "ruler")
    sub_trim_limit_percent: Percent = key("most sub-trim before the linkage is to be moved; left out, 10 %", "10 %", 10)
    tolerances: SheetTolerances = key("the profile and what differs from it", default=SheetTolerances())
    surfaces: dict[Name, Surface] = key(
        "the control surfaces, a table `[surface.NAME]` each", alias="surface", min_length=1
    )
    presets: dict[Name, dict[Name, dict[Name, Position]]] = key(
        "positions of several surfaces at once, `[preset.MODE.NAME]`", default={}, alias="preset"
    )

    _text: str = ""

    @property
    def text(self) -> str:
        """The text it was read from, which a session keeps."""
        return self._text

    @model_validator(mode="before")
    @classmethod
    def _take_kinds_from_names(cls, table: Any) -> Any:
        surfaces = table.get("surface")
        if not isinstance(surfaces, dict):
            return table
        own = {name: surface for name, surface in surfaces.items() if name in KINDS and isinstance(surface, dict)}
        return {**table, "surface": surfaces | {name: {"kind": name, **surface} for name, surface in own.items()}}

    def surface(self, name: str) -> Surface:
        """The surface of that name; raises `SheetError` if there is none."""
        return self.surfaces[known_name(name, "surface", self.surfaces)]

    def tolerance(self, surface: str, name: ToleranceName) -> Measure:
        """A tolerance of a surface: its own, else the sheet's, else the profile's."""
        own, common = self.surface(surface).tolerances, self.tolerances
        return getattr(own, name) or getattr(common, name) or PROFILES[common.profile][name]

    def targets(self, surface: str | None = None, mode: str | None = None) -> tuple[Target, ...]:
        """List every throw, then every preset, by mode and surface; raises `SheetError` for an unknown name."""
        modes = (known_name(mode, "mode", self.modes),) if mode else self.modes
        names = self._names(surface)
        return tuple(target for mode in modes for target in self._targets_in(mode, names))

    def neutrals(self, surface: str | None = None) -> tuple[NeutralTarget, ...]:
        """List the neutral of every side; raises `SheetError` for an unknown name."""
        return tuple(target for name in self._names(surface) for target in self._neutrals_of(name))

    def _names(self, surface: str | None) -> tuple[str, ...]:
        return (known_name(surface, "surface", self.surfaces),) if surface else tuple(self.surfaces)

    def convention_of(self, surface: Surface) -> Convention:
        """How a surface's mm are measured."""
        return surface.convention or self.convention

    def _targets_in(self, mode: str, names: tuple[str, ...]) -> Iterator[Target]:
        for name in names:
            for table, travels in self.surfaces[name].travels().items():
                for direction, position in travels[mode].signed().items() if mode in travels else ():
                    command = f"{function_of(table)} {direction}".strip()
                    yield from self._sides_at(name, mode, command, position, "throw", "match")
        for command, positions in self.presets.get(mode, {}).items():
            for name in names:
                if name in positions:
                    yield from self._sides_at(name, mode, command, positions[name], "preset", "preset")

    def _sides_at(self, name: str, mode: str, command: str, position: Measure, *own: ToleranceName) -> Iterator[Target]:
        surface = self.surfaces[name]
        chord_mm, convention = surface.chord_mm, self.convention_of(surface)
        travel = travel_of(position, chord_mm, convention)
        tolerance, match = (tolerance_of(self.tolerance(name, each), chord_mm) for each in own)
        for side in surface.sides:
            yield Target(
                *(name, side, *travel, convention, chord_mm, position.unit, *tolerance, mode, command, *match),
                chord_accuracy_mm=surface.chord_accuracy_mm,
            )

    def _neutrals_of(self, name: str) -> Iterator[NeutralTarget]:
        surface = self.surfaces[name]
        faired, level_deg = surface.neutral.faired, surface.neutral.level_deg
        chord_mm, convention = surface.chord_mm, self.convention_of(surface)
        tolerance = tolerance_of(self.tolerance(name, "neutral"), chord_mm)
        reference = "faired" if faired else None if level_deg is None else "level"
        travel: tuple[float | None, float | None] = (level_deg, None)
        if faired:
            travel = travel_of(faired, chord_mm, convention)
        unit = faired.unit if faired else "deg"
        for side in surface.sides:
            yield NeutralTarget(
                *(name, side, *travel, convention, chord_mm, unit, *tolerance, reference),
                chord_accuracy_mm=surface.chord_accuracy_mm,
            )


def known_name(name: str, noun: str, names: Collection[str]) -> str:
    """Check the name of a surface or mode; raises `SheetError` if it is none of these names."""
    if name not in names:
        cure = nearest(name, names) or f"Name a {noun} of the sheet"
        raise SheetError(f"no {noun} {name!r} in the sheet, expected {one_of(names)}", cure)
    return name
