"""What the checks compare with: a flat row for each side of every throw, preset and neutral of a sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from hingeline.units import Side
from hingeline_calibration.travel import angle_of_length_deg, deflection_from_travel_deg, travel_mm

if TYPE_CHECKING:
    from hingeline.rig.quantities import Measure, Unit


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
        Against the target, and left against right. A tolerance in mm stands as the angle that moves the
        trailing edge as far along its path.
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
    """Where one side belongs at neutral. Attributes not described are those of `Target`.

    Attributes
    ----------
    reference
        "faired": from the position faired with the fixed part. "level": the skin's slope against the datum.
        None: left and right only have to match.
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
