"""A sheet as an aligned table of plain text, and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from hingeline.rig.sheet import Sheet
from hingeline.rig.surface import Surface
from hingeline.rig.targets import NeutralTarget, Target
from hingeline.units import MM_PER_INCH, aligned

CONVENTIONS = {"ruler": "ruler, tip to tip", "height": "height, square to the chord", "arc": "along the arc"}
"""How mm are measured, in words."""


def sheet_text(sheet: Sheet) -> str:
    """Write the whole sheet as a table for a reader."""
    return "\n".join(_lines(sheet)).rstrip()


def sheet_data(sheet: Sheet) -> dict[str, Any]:
    """The content of `sheet_text` for a program: units and frames as in `Target` and `NeutralTarget`."""
    return {
        "aircraft": sheet.aircraft,
        "modes": sheet.modes,
        "neutrals": [asdict(neutral) for neutral in sheet.neutrals()],
        "targets": [asdict(target) for target in sheet.targets()],
    }


def _lines(sheet: Sheet) -> Iterator[str]:
    yield sheet.aircraft
    yield f"Trailing edge up, of a rudder left, is +. Tolerances: profile {sheet.tolerances.profile}."
    yield ""
    yield "Surfaces"
    rows = [_surface_row(sheet, name, surface) for name, surface in sheet.surfaces.items()]
    yield from _table(("surface", "kind", "sides", "chord", "station", "mm measured by", "hinge"), rows)
    yield ""
    yield "Neutral"
    neutrals = [_neutral_row(neutral) for neutral in _first_sides(sheet.neutrals())]
    yield from _table(("surface", "wanted", "tolerance"), neutrals)
    for mode in sheet.modes:
        yield ""
        yield f"Mode {mode}"
        heads = ("surface", "command", "deflection", "travel", "tolerance", "left - right")
        yield from _table(heads, [_target_row(target) for target in _first_sides(sheet.targets(mode=mode))])


def _surface_row(sheet: Sheet, name: str, surface: Surface) -> tuple[str, ...]:
    hinge: list[str] = [surface.hinge]
    hinge += [f"sweep {surface.sweep_deg:g}°"] if surface.sweep_deg else []
    hinge += [f"dihedral {surface.dihedral_deg:g}°"] if surface.dihedral_deg else []
    hinge += [f"tip {surface.counterbalance_mm:g} mm ahead of it"] if surface.counterbalance_mm else []
    return (
        name,
        surface.kind,
        ", ".join(surface.sides),
        _length(surface.chord_mm),
        _length(surface.station_mm),
        CONVENTIONS[surface.convention or sheet.convention],
        ", ".join(hinge),
    )


def _neutral_row(neutral: NeutralTarget) -> tuple[str, ...]:
    if neutral.deflection_deg is None:
        wanted = "as the other side" if neutral.side != "middle" else "as you set it"
    else:
        reference = {"faired": "from faired", "level": "slope against the datum"}[neutral.reference or ""]
        travel = "" if neutral.travel_mm is None else f" = {_travel(neutral.travel_mm, neutral.unit)}"
        wanted = f"{neutral.deflection_deg:+.1f}°{travel} {reference}"
    return neutral.surface, wanted, _tolerance(neutral.tolerance_deg, neutral.tolerance_mm)


def _target_row(target: Target) -> tuple[str, ...]:
    pair = target.side != "middle"
    return (
        target.surface,
        target.command,
        f"{target.deflection_deg:+.1f}°",
        "" if target.travel_mm is None else _travel(target.travel_mm, target.unit),
        _tolerance(target.tolerance_deg, target.tolerance_mm),
        _tolerance(target.match_tolerance_deg, target.match_tolerance_mm) if pair else "",
    )


def _first_sides(rows: Sequence[Any]) -> list[Any]:
    """Leave out the further sides of a surface, which have the same figures."""
    return list({(row.surface, getattr(row, "command", None)): row for row in reversed(rows)}.values())[::-1]


def _travel(travel_mm: float, unit: str) -> str:
    return f"{travel_mm / MM_PER_INCH:+.2f} in" if unit == "in" else f"{travel_mm:+.1f} mm"


def _tolerance(figure_deg: float, figure_mm: float | None) -> str:
    return f"{figure_deg:.2g}°" if figure_mm is None else f"{figure_mm:.2g} mm"


def _length(length_mm: float | None) -> str:
    return "" if length_mm is None else f"{length_mm:g} mm"


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    yield from (f"  {line}" for line in aligned([heads, *rows]))
