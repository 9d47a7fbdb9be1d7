"""Half stick against full stick, both ways of coming there, at points that are taught by holding them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from hingeline.checks.limits import beside_limit, of_angle
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.checks.values import Numbers
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.units import Side
from hingeline_calibration.hinge import Deflection

HALF, HALF_LIMIT = 0.5, 0.03
"""Of full deflection, expo off: common practice, no source."""
POINTS = ("half stick", "full stick", "half stick again, coming back")
"""What is held on one way, in this order."""
_LEAST_FULL_DEG = 2.0
LINEARITY = (
    "expo or a curve left in the transmitter",
    "an arm that is not square to the pushrod at neutral",
    "a horn hole that is not over the hinge line",
)
HYSTERESIS = ("play: `hingeline play` tells", "friction in hinge or pushrod")


def judge_points(neutral: NeutralReading, ways: Mapping[str, Sequence[Readings]], hysteresis_deg: float) -> CheckResult:
    """Judge the readings at `POINTS`, for each way. Raises `HingeVertical`.

    The limit is how far a point may be from itself, come to from the other side.
    """
    results: list[LimitResult] = []
    points_deg: dict[str, dict[Side, Numbers]] = {}
    for way, readings in ways.items():
        angles = [neutral.deflections(reading) for reading in readings]
        first, last = (neutral.gravities(readings[place]) for place in (0, -1))
        points_deg[way] = {}
        for instrument in neutral.instruments:
            side = instrument.side
            coming, full, back = (by_side[side] for by_side in angles)
            points_deg[way][side] = tuple(angle.deflection_deg for angle in (coming, full, back))
            gap = instrument.deflection(first[side], last[side])
            results.append(of_angle(f"{side}, half stick {way}: hysteresis", gap, hysteresis_deg, HYSTERESIS))
            if abs(full.deflection_deg) > _LEAST_FULL_DEG:
                results.append(_linearity(f"{side}, half of full stick {way}", coming, full, back))
    return CheckResult.of("sweep", results, points_deg=points_deg)


def _linearity(name: str, coming: Deflection, full: Deflection, back: Deflection) -> LimitResult:
    """Judge half against full deflection, half being the mean of both ways of coming there (GUM 5.1.2)."""
    half = (coming.deflection_deg + back.deflection_deg) / 2
    ratio = half / full.deflection_deg
    half_sd_deg = max(coming.standard_uncertainty_deg, back.standard_uncertainty_deg)
    deviation = math.hypot(half_sd_deg, ratio * full.standard_uncertainty_deg) / abs(full.deflection_deg)
    return beside_limit(name, ratio, deviation, HALF_LIMIT, LINEARITY, unit="ratio", expected=HALF)
