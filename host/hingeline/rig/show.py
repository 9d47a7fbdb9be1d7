"""A sheet as an aligned table of plain text, and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from hingeline.rig.quantities import MM_PER_INCH
from hingeline.rig.sheet import Sheet, Surface
from hingeline.rig.targets import NeutralTarget, Target

CONVENTIONS = {"ruler": "ruler, tip to tip", "height": "height, square to the chord", "arc": "along the arc"}
"""How mm are measured, in words."""


def sheet_text(sheet: Sheet) -> str:
    """Return the whole sheet for a reader."""
    return "\n".join(_lines(sheet)).rstrip()


def sheet_data(sheet: Sheet) -> dict[str, Any]:
    """Return what `sheet_text` tells, for a program: units and frames as in `Target` and `NeutralTarget`."""
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
    yield from _table(("surface", "wanted", "tolerance"), _neutral_rows(sheet))
    for mode in sheet.modes:
        yield ""
        yield f"Mode {mode}"
        heads = ("surface", "command", "deflection", "travel", "tolerance", "left - right")
        yield from _table(
            heads, [_target_row(target) for target in _once_a_surface(sheet.targets(mode=mode))]
        )


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


def _neutral_rows(sheet: Sheet) -> list[tuple[str, ...]]:
    return [
        (neutral.surface, _wanted(neutral), _either(neutral.tolerance_deg, neutral.tolerance_mm))
        for neutral in _once_a_surface(sheet.neutrals())
    ]


def _wanted(neutral: NeutralTarget) -> str:
    if neutral.deflection_deg is None:
        return "as the other side" if neutral.side != "middle" else "as you set it"
    place = {"faired": "from faired", "level": "slope against the datum"}[neutral.reference or ""]
    travel = "" if neutral.travel_mm is None else f" = {_travel(neutral.travel_mm, neutral.unit)}"
    return f"{neutral.deflection_deg:+.1f}°{travel} {place}"


def _target_row(target: Target) -> tuple[str, ...]:
    pair = target.side != "middle"
    return (
        target.surface,
        target.command,
        f"{target.deflection_deg:+.1f}°",
        "" if target.travel_mm is None else _travel(target.travel_mm, target.unit),
        _either(target.tolerance_deg, target.tolerance_mm),
        _either(target.match_tolerance_deg, target.match_tolerance_mm) if pair else "",
    )


def _once_a_surface(rows: Sequence[Any]) -> list[Any]:
    """Return the rows without the further sides of the same surface, which have the same figures."""
    firsts: dict[tuple[Any, ...], Any] = {}
    for row in rows:
        firsts.setdefault((row.surface, getattr(row, "command", None)), row)
    return list(firsts.values())


def _travel(travel_mm: float, unit: str) -> str:
    return f"{travel_mm / MM_PER_INCH:+.2f} in" if unit == "in" else f"{travel_mm:+.1f} mm"


def _either(figure_deg: float, figure_mm: float | None) -> str:
    return f"{figure_deg:.2g}°" if figure_mm is None else f"{figure_mm:.2g} mm"


def _length(length_mm: float | None) -> str:
    return "" if length_mm is None else f"{length_mm:g} mm"


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    widths = [max(len(cell) for cell in column) for column in zip(heads, *rows, strict=True)]
    for row in (heads, *rows):
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
