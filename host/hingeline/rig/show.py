"""A sheet as an aligned table of plain text, and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget, SideTarget, Target
from hingeline.units import MM_PER_INCH, aligned

CONVENTIONS = {"ruler": "ruler, tip to tip", "height": "height, square to the chord", "arc": "along the arc"}
"""How mm are measured, in words."""
_REFERENCES = {"faired": "from faired", "level": "slope against the datum"}


def sheet_text(sheet: Sheet) -> str:
    """Write the whole sheet as a table for a reader."""
    surfaces = ("surface", "kind", "sides", "chord", "station", "mm measured by", "hinge")
    first = {name: surface.sides[0] for name, surface in sheet.surfaces.items()}  # the others have the same figures
    neutrals = [_neutral_row(neutral) for neutral in sheet.neutrals() if neutral.side == first[neutral.surface]]
    parts = [
        f"Trailing edge up, of a rudder left, is +. Tolerances: profile {sheet.tolerances.profile}.",
        _table("Surfaces", surfaces, _surface_rows(sheet)),
        _table("Neutral", ("surface", "wanted", "tolerance"), neutrals),
    ]
    heads = ("surface", "command", "deflection", "travel", "tolerance", "left - right")
    for mode in sheet.modes:
        targets = (target for target in sheet.targets(mode=mode) if target.side == first[target.surface])
        parts.append(_table(f"Mode {mode}", heads, [*map(_target_row, targets)]))
    return sheet.aircraft + "\n" + "\n\n".join(parts)


def sheet_data(sheet: Sheet) -> dict[str, Any]:
    """The content of `sheet_text` for a program: units and frames as in `Target` and `NeutralTarget`."""
    return {
        "aircraft": sheet.aircraft,
        "modes": sheet.modes,
        "neutrals": [asdict(neutral) for neutral in sheet.neutrals()],
        "targets": [asdict(target) for target in sheet.targets()],
    }


def _table(title: str, heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    return "\n  ".join([title, *aligned([heads, *rows])])


def _surface_rows(sheet: Sheet) -> list[tuple[str, ...]]:
    return [
        (
            name,
            surface.kind,
            ", ".join(surface.sides),
            _given("{:g} mm", surface.chord_mm),
            _given("{:g} mm", surface.station_mm),
            CONVENTIONS[sheet.convention_of(surface)],
            surface.hinge
            + _given(", sweep {:g}°", surface.sweep_deg or None)
            + _given(", dihedral {:g}°", surface.dihedral_deg or None)
            + _given(", tip {:g} mm ahead of it", surface.counterbalance_mm),
        )
        for name, surface in sheet.surfaces.items()
    ]


def _neutral_row(neutral: NeutralTarget) -> tuple[str, ...]:
    if neutral.reference is None:
        wanted = "as the other side" if neutral.side != "middle" else "as you set it"
    else:
        travel = _travel(neutral)
        wanted = f"{neutral.deflection_deg:+.1f}°{travel and f' = {travel}'} {_REFERENCES[neutral.reference]}"
    return neutral.surface, wanted, _tolerance(neutral.tolerance_deg, neutral.tolerance_mm)


def _target_row(target: Target) -> tuple[str, ...]:
    pair = target.side != "middle"
    return (
        target.surface,
        target.command,
        f"{target.deflection_deg:+.1f}°",
        _travel(target),
        _tolerance(target.tolerance_deg, target.tolerance_mm),
        _tolerance(target.match_tolerance_deg, target.match_tolerance_mm) if pair else "",
    )


def _given(form: str, value: float | None) -> str:
    return "" if value is None else form.format(value)


def _travel(target: SideTarget) -> str:
    if target.unit == "in" and target.travel_mm is not None:
        return f"{target.travel_mm / MM_PER_INCH:+.2f} in"
    return _given("{:+.1f} mm", target.travel_mm)


def _tolerance(figure_deg: float, figure_mm: float | None) -> str:
    return f"{figure_deg:.2g}°" if figure_mm is None else f"{figure_mm:.2g} mm"
