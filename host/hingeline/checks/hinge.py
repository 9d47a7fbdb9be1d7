"""Where the hinge runs in the carrier frame of each sensor, found from how gravity moves in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument, sensors_of
from hingeline.measure.tracks import Lines, track
from hingeline.measure.uncertainty import SHARE
from hingeline.units import Side
from hingeline_calibration.axis import find_axis
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis

YAW_LIMIT_DEG = 5.0
"""A sensor's edge further off the hinge is told: at 30° it costs 0.1°. Common practice, no source."""
ENOUGH_DEG = 0.3
"""A yaw known this well is enough: at 30° it costs less than a thousandth of a degree."""
_SURE = 2.0
_ON_ITS_HEAD = math.cos(math.radians(120.0))
"""No surface is deflected by more; common practice, no source."""
_FIRM_DEG = 0.3
"""A model that lies firm leans by less; common practice, no source."""


@dataclass(frozen=True)
class Mounting:
    """How a sensor sits on its hinge.

    Attributes
    ----------
    axis
        The hinge in the carrier frame.
    used
        The hinge that readings were taken about before.
    """

    side: Side
    sensor_id: str
    axis: HingeAxis
    used: HingeAxis

    @property
    def off_deg(self) -> float:
        """Yaw from the hinge that was used, carrier counter-clockwise of it negative."""
        return self.axis.yaw_deg - self.used.yaw_deg

    @property
    def beyond(self) -> bool:
        """Whether that is more than `YAW_LIMIT_DEG`, and surely so."""
        return abs(self.off_deg) > YAW_LIMIT_DEG + _SURE * self.axis.yaw_sd_deg

    @property
    def text(self) -> str:
        """Words for it."""
        reach_deg = _SURE * self.axis.yaw_sd_deg
        limit = f", more than {YAW_LIMIT_DEG:g}°" if self.beyond else ""
        off = f"{abs(self.axis.yaw_deg):.1f}° ±{reach_deg:.1f}{limit}"
        return f"{self.side} sensor {self.sensor_id}: its edge is off the hinge line by {off}"

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "side": self.side,
            "sensor_id": self.sensor_id,
            "yaw_deg": round(self.axis.yaw_deg, 3),
            "beyond": self.beyond,
            "axis": asdict(self.axis),
        }


def mounting(one: Instrument, gravities: Sequence[Gravity]) -> Mounting | None:
    """Return how a sensor sits, or None where the readings are too few or too close together to tell."""
    try:
        axis = find_axis(gravities, one.calibration)
    except CalibrationError:
        return None
    return Mounting(one.side, one.sensor_id, axis, one.hinge)


def askew_text(one: Instrument, neutral: Gravity, now: Gravity) -> str:
    """Return what is to be said of a sensor that turned about another axis than its hinge; empty where it did not.

    Gravity's part along the hinge stays what it is, whatever the deflection.
    """
    h, u0, u = (
        vector / np.linalg.norm(vector)
        for vector in (np.array(one.hinge.direction), neutral.vector_g, now.vector_g)
    )
    if float(u @ u0) < _ON_ITS_HEAD:
        return "gravity turned by more than any surface does: it came off, or its module is turned; its angle is wrong"
    limit = math.sin(math.radians(YAW_LIMIT_DEG)) * float(np.linalg.norm(u - u0)) + math.radians(_FIRM_DEG)
    lean = abs(float(h @ u - h @ u0))
    if lean <= limit:
        return ""
    return (
        f"it leaned by {math.degrees(lean):.1f}° along the hinge line, expected at most {math.degrees(limit):.1f}°: it "
        "sits askew (find the hinge: `hingeline hinge`), slipped, its module is turned in the carrier, or the model "
        "was moved; its angle is wrong"
    )


def back_text(side: Side, back: Deflection, tolerance_deg: float) -> str:
    """Return what is to be said of a side that came back to neutral; empty where it is no more off than may be."""
    off_deg = abs(back.deflection_deg)
    if off_deg <= max(SHARE * tolerance_deg, COVERAGE_FACTOR * back.standard_uncertainty_deg):
        return ""
    return (
        f"it came back {off_deg:.1f}° off: play or centring (`hingeline play`, `hingeline centring`), or the {side} "
        "sensor slipped or drifted, and its angles since neutral are off too: press it on, measure again"
    )


class HingeCheck:
    """Finds the hinges of a surface from a slow sweep.

    Parameters
    ----------
    sides
        An instrument for each side of the surface.
    neutral
        The rest before the sweep.

    Raises
    ------
    HingeVertical, NotMeasurable
        See `Instrument.at_neutral`.
    """

    def __init__(self, sides: tuple[Instrument, ...], neutral: Readings) -> None:
        for one in sides:
            one.at_neutral(neutral)
        self._sides, self._neutral = sides, neutral
        self.lines = Lines(sensors_of(sides))

    def mountings(self) -> tuple[Mounting, ...] | None:
        """Return how each sensor sits, or None as long as the sweep doesn't tell it well enough."""
        found = [mounting(one, self._swept(one)) for one in self._sides]
        known = tuple(one for one in found if one is not None and one.axis.yaw_sd_deg < ENOUGH_DEG)
        return known if len(known) == len(found) else None

    def _swept(self, one: Instrument) -> list[Gravity]:
        """Return the lines that are quiet enough to show the plumb line."""
        swept = track(one, self._neutral[one.sensor_id], self.lines.of(one.sensor_id))
        return [
            Gravity(vector_g, swept.line_covariance_g2, swept.temperature_c, float(time_s), 0.0)
            for time_s, vector_g in zip(
                swept.time_s[swept.steady], swept.gravity_g[swept.steady], strict=True
            )
        ]
