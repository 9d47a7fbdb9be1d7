"""Half stick against full stick, both ways of coming there, at points that are taught by holding them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from hingeline.checks.limits import beside_limit, of_angle
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
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


class PointsCheck:
    """Points of one surface.

    Parameters
    ----------
    sides
        An instrument for each side.
    neutral
        The readings at neutral.
    hysteresis_deg
        How far a point may be from itself, come to from the other side.
    """

    def __init__(self, sides: tuple[Instrument, ...], neutral: Readings, hysteresis_deg: float) -> None:
        self._sides = sides
        self._neutral = {instrument.side: instrument.at_neutral(neutral) for instrument in sides}
        self._hysteresis_deg = hysteresis_deg

    def result(self, ways: Mapping[str, Sequence[Readings]]) -> CheckResult:
        """Judge the readings at `POINTS`, for each way. Raises `HingeVertical`."""
        results: list[LimitResult] = []
        points_deg: dict[str, dict[Side, tuple[float, ...]]] = {}
        for way, readings in ways.items():
            for instrument in self._sides:
                gravity = [instrument.gravity(reading) for reading in readings]
                coming, full, back = (
                    instrument.deflection(self._neutral[instrument.side], vector) for vector in gravity
                )
                points_deg.setdefault(way, {})[instrument.side] = tuple(
                    angle.deflection_deg for angle in (coming, full, back)
                )
                gap = instrument.deflection(gravity[0], gravity[2])
                name = f"{instrument.side}, half stick {way}: hysteresis"
                results.append(of_angle(name, gap, self._hysteresis_deg, HYSTERESIS))
                if abs(full.deflection_deg) > _LEAST_FULL_DEG:
                    results.append(_linearity(f"{instrument.side}, half of full stick {way}", coming, full, back))
        inside = all(result.inside for result in results)
        return CheckResult("", "sweep", tuple(results), (), inside, points_deg=points_deg)


def _linearity(name: str, coming: Deflection, full: Deflection, back: Deflection) -> LimitResult:
    """Judge half against full deflection, half being the mean of both ways of coming there (GUM 5.1.2)."""
    half = (coming.deflection_deg + back.deflection_deg) / 2
    ratio = half / full.deflection_deg
    half_sd_deg = max(coming.standard_uncertainty_deg, back.standard_uncertainty_deg)
    deviation = math.hypot(half_sd_deg, ratio * full.standard_uncertainty_deg) / abs(full.deflection_deg)
    return beside_limit(name, ratio, deviation, HALF_LIMIT, LINEARITY, unit="ratio", expected=HALF)
