"""What the checks compare with: every throw, preset and neutral of a sheet, side by side in one flat row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import degrees
from typing import TYPE_CHECKING

from hingeline.rig.kinds import Side
from hingeline_calibration.travel import deflection_from_travel_deg, travel_mm

if TYPE_CHECKING:
    from hingeline.rig.quantities import Measure, Unit
    from hingeline.rig.sheet import Sheet
    from hingeline.rig.tolerances import ToleranceName


@dataclass(frozen=True)
class Target:
    """One commanded position of one side. Trailing edge up, of a rudder left, is positive.

    Attributes
    ----------
    mode
        Rate or flight mode.
    command
        What is commanded, such as "up", "elevator down" or "crow 50 %".
    deflection_deg
        From neutral.
    travel_mm
        The same at the chord, in the convention; None where the sheet gives no chord.
    convention
        How mm are measured: "ruler", "height" or "arc".
    unit
        The unit the manual gives the target in.
    tolerance_deg, match_tolerance_deg
        Against the target, and left against right. Of a tolerance in mm, the angle that moves the trailing
        edge as far along its path.
    tolerance_mm, match_tolerance_mm
        The tolerance where the sheet gives it as a length, otherwise None.
    """

    surface: str
    side: Side
    mode: str
    command: str
    deflection_deg: float
    travel_mm: float | None
    convention: str
    chord_mm: float | None
    unit: Unit
    tolerance_deg: float
    tolerance_mm: float | None
    match_tolerance_deg: float
    match_tolerance_mm: float | None


@dataclass(frozen=True)
class NeutralTarget:
    """Where one side belongs at neutral. Attributes not told here are those of `Target`.

    Attributes
    ----------
    reference
        "faired": from the position faired with the fixed part. "level": the skin's slope against the datum.
        None: there is no place of its own, left and right only have to match.
    deflection_deg, travel_mm
        From the reference; None where it is None. A slope has no travel.
    tolerance_deg, tolerance_mm
        Against the reference, and left against right.
    """

    surface: str
    side: Side
    reference: str | None
    deflection_deg: float | None
    travel_mm: float | None
    convention: str
    chord_mm: float | None
    unit: Unit
    tolerance_deg: float
    tolerance_mm: float | None


def targets(sheet: Sheet, surfaces: tuple[str, ...], modes: tuple[str, ...]) -> Iterator[Target]:
    """Yield the targets of the surfaces in the modes: of each mode first the throws, then the presets."""
    for mode in modes:
        for name, command, position, tolerances in _positions(sheet, surfaces, mode):
            surface = sheet.surface(name)
            convention = surface.convention or sheet.convention
            deflection_deg, travel = _converted(position, surface.chord_mm, convention)
            against_target, left_right = (_tolerance(sheet, name, tolerance) for tolerance in tolerances)
            for side in surface.sides:
                yield Target(
                    name,
                    side,
                    mode,
                    command,
                    deflection_deg,
                    travel,
                    convention,
                    surface.chord_mm,
                    position.unit,
                    *against_target,
                    *left_right,
                )


def function_of(table: str) -> str:
    """Return the function of a table of throws, such as "elevator"; of `throws` it has no name."""
    return "" if table == "throws" else table.removeprefix("as_")


def _positions(
    sheet: Sheet, surfaces: tuple[str, ...], mode: str
) -> Iterator[tuple[str, str, Measure, tuple[ToleranceName, ToleranceName]]]:
    """Yield surface, command, position, and the names of its tolerance and of its left-right tolerance."""
    for name in surfaces:
        for table, travels in sheet.surfaces[name].travels().items():
            if mode in travels:
                for direction, position in travels[mode].signed().items():
                    yield name, f"{function_of(table)} {direction}".strip(), position, ("throw", "match")
    for command, positions in sheet.presets.get(mode, {}).items():
        for name in surfaces:
            if name in positions:
                yield name, command, positions[name], ("preset", "preset")


def neutrals(sheet: Sheet, surfaces: tuple[str, ...]) -> Iterator[NeutralTarget]:
    """Yield the neutral of each side of the surfaces."""
    for name in surfaces:
        surface = sheet.surface(name)
        neutral, convention = surface.neutral, surface.convention or sheet.convention
        reference = "faired" if neutral.faired else "level" if neutral.level_deg is not None else None
        deflection_deg, travel = neutral.level_deg, None
        if neutral.faired:
            deflection_deg, travel = _converted(neutral.faired, surface.chord_mm, convention)
        for side in surface.sides:
            yield NeutralTarget(
                name,
                side,
                reference,
                deflection_deg,
                travel,
                convention,
                surface.chord_mm,
                neutral.faired.unit if neutral.faired else "deg",
                *_tolerance(sheet, name, "neutral"),
            )


def _converted(position: Measure, chord_mm: float | None, convention: str) -> tuple[float, float | None]:
    """Return a position as deflection in degrees and as travel in mm; a length comes with a chord."""
    if chord_mm is None:
        return position.value, None
    if position.linear:
        return deflection_from_travel_deg(position.mm, chord_mm, convention), position.mm
    return position.value, travel_mm(position.value, chord_mm, convention)


def _tolerance(sheet: Sheet, surface: str, name: ToleranceName) -> tuple[float, float | None]:
    tolerance, chord_mm = sheet.tolerance(surface, name), sheet.surface(surface).chord_mm
    if chord_mm is None or not tolerance.linear:
        return tolerance.value, None
    return degrees(tolerance.mm / chord_mm), tolerance.mm
