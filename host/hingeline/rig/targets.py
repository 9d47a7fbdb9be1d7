"""What the checks compare with: a flat row for each side of every throw, preset and neutral of a sheet."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from hingeline.units import Side
from hingeline_calibration.travel import angle_of_length_deg, deflection_from_travel_deg, travel_mm

if TYPE_CHECKING:
    from hingeline.rig.quantities import Measure, Unit


@dataclass(frozen=True)
class SideTarget:
    """Where one side belongs. Trailing edge up, of a rudder left, is positive.

    A tolerance in mm stands in degrees, too: the angle that moves the trailing edge as far along its path. One in
    degrees has no mm.
    """

    surface: str
    side: Side
    deflection_deg: float | None
    travel_mm: float | None
    """The same at the chord, in the convention; None where the sheet gives no chord, and for a slope."""
    convention: str
    """How mm are measured: "ruler", "height" or "arc"."""
    chord_mm: float | None
    unit: Unit
    """The unit the manual gives the target in."""
    tolerance_deg: float
    tolerance_mm: float | None
    chord_accuracy_mm: float = field(kw_only=True)
    """At 95 %."""


@dataclass(frozen=True)
class Target(SideTarget):
    """One commanded position, from neutral. `tolerance` is against the target, `match_tolerance` left against right."""

    deflection_deg: float
    mode: str
    """Rate or flight mode."""
    command: str
    """Such as "up", "elevator down" or "crow 50 %"."""
    match_tolerance_deg: float
    match_tolerance_mm: float | None


@dataclass(frozen=True)
class NeutralTarget(SideTarget):
    """Neutral, from its reference. `tolerance` is against the reference, and left against right."""

    reference: str | None
    """`faired`: with the fixed part. `level`: the skin's slope against the datum. None: left and right are to match,
    and `deflection_deg` is None."""


def function_of(table: str) -> str:
    """The function of a table of throws, such as "elevator"; `throws` has no function of its own."""
    return "" if table == "throws" else table.removeprefix("as_")


def travel_of(position: Measure, chord_mm: float | None, convention: str) -> tuple[float, float | None]:
    """Convert a position to a deflection in degrees and a travel in mm, None without a chord.

    A position in mm always comes with a chord: a sheet without it is refused.
    """
    if chord_mm is None:
        return position.value, None
    if position.linear:
        return deflection_from_travel_deg(position.mm, chord_mm, convention), position.mm
    return position.value, travel_mm(position.value, chord_mm, convention)


def tolerance_of(tolerance: Measure, chord_mm: float | None) -> tuple[float, float | None]:
    """Convert a tolerance to degrees; its mm too, where the sheet gives it as a length."""
    if chord_mm is None or not tolerance.linear:
        return tolerance.value, None
    return angle_of_length_deg(tolerance.mm, chord_mm), tolerance.mm
