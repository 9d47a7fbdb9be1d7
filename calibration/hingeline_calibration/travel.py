"""Linear travel of the trailing edge from its deflection, and back.

With the chord c from hinge axis to trailing edge and the deflection δ:

=========  ============  ==========================================
ruler      2c sin(δ/2)   tip to tip, a ruler held at both positions
height     c sin δ       square to the chord at neutral
arc        c δ           along the path
=========  ============  ==========================================
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from hingeline_calibration.errors import CalibrationError


@dataclass(frozen=True)
class _Convention:
    """Travel in chords of a deflection in radians: the function, its slope, its inverse and its reach."""

    travel: Callable[[float], float]
    slope: Callable[[float], float]
    inverse: Callable[[float], float]
    reach_rad: float


_TABLE = {
    "ruler": _Convention(
        lambda d: 2 * math.sin(d / 2), lambda d: math.cos(d / 2), lambda t: 2 * math.asin(t / 2), math.pi
    ),
    "height": _Convention(math.sin, math.cos, math.asin, math.pi / 2),
    "arc": _Convention(lambda d: d, lambda d: 1.0, lambda t: t, math.pi),
}

CONVENTIONS = tuple(_TABLE)
"""The words for a travel convention."""


def travel_mm(deflection_deg: float, chord_mm: float, convention: str) -> float:
    """Travel at a chord, with the sign of the deflection, in one of `CONVENTIONS`.

    Raises
    ------
    CalibrationError
        The convention is none of the table, or the deflection is beyond its reach (90° for ``height``).
    """
    return chord_mm * _entry(convention).travel(_within_reach(deflection_deg, convention))


def travel_slope_mm_per_deg(deflection_deg: float, chord_mm: float, convention: str) -> float:
    """Change of the travel for a degree more deflection. Raises as `travel_mm`."""
    return math.radians(chord_mm * _entry(convention).slope(_within_reach(deflection_deg, convention)))


def deflection_from_travel_deg(travel_mm: float, chord_mm: float, convention: str) -> float:
    """Deflection that gives a travel at a chord: the inverse of `travel_mm`.

    Raises
    ------
    CalibrationError
        The convention is none of the table, the chord is not positive, or no deflection travels that far.
    """
    entry = _entry(convention)
    if not chord_mm > 0:
        raise CalibrationError(
            f"a chord of {chord_mm:g} mm, expected more than 0", "Measure the chord from the hinge axis"
        )
    farthest_mm = chord_mm * entry.travel(entry.reach_rad)
    if not abs(travel_mm) <= farthest_mm:
        raise CalibrationError(
            f"a travel of {travel_mm:g} mm at a chord of {chord_mm:g} mm, expected at most {farthest_mm:.4g} mm "
            f"({convention})",
            "Check the travel, the chord and the convention",
        )
    return math.degrees(entry.inverse(travel_mm / chord_mm))


def angle_of_length_deg(length_mm: float, chord_mm: float) -> float:
    """Angle that moves the trailing edge a length along its path: of a tolerance, alike wherever the surface is."""
    return math.degrees(length_mm / chord_mm)


def _entry(convention: str) -> _Convention:
    if convention not in _TABLE:
        raise CalibrationError(
            f"travel convention {convention!r}, expected one of {', '.join(CONVENTIONS)}", "Name one of them"
        )
    return _TABLE[convention]


def _within_reach(deflection_deg: float, convention: str) -> float:
    reach_deg = math.degrees(_entry(convention).reach_rad)
    if not abs(deflection_deg) <= reach_deg:
        raise CalibrationError(
            f"a deflection of {deflection_deg:g}°, expected at most {reach_deg:g}° for the convention {convention!r}",
            "Use another convention",
        )
    return math.radians(deflection_deg)
