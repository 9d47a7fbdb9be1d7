"""Where the hinge runs in the carrier frame of each sensor, found from how gravity moves in it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hingeline.checks.results import HingeResult
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Track, Tracks
from hingeline.measure.uncertainty import SHARE
from hingeline.units import Side
from hingeline_calibration.axis import find_axis
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis
from hingeline_calibration.stroke import Stroke, read_stroke

YAW_LIMIT_DEG = 5.0
"""A sensor's edge further off the hinge than this is reported: at 30° it costs 0.1°. Common practice, no source."""
ENOUGH_DEG = 0.3
"""A yaw known this well is enough: at 30° it costs less than a thousandth of a degree."""
_SURE = 2.0
_ON_ITS_HEAD = math.cos(math.radians(120.0))
"""No surface is deflected by more; common practice, no source."""
_FIRM_DEG = 0.3
"""A model that is firmly supported leans by less; common practice, no source."""


def hinge_text(result: HingeResult) -> str:
    """Say in words how a sensor sits; of one that was taped anew since its hinge was found, how it sat."""
    reach_deg = _SURE * result.axis.yaw_sd_deg
    limit = f", more than {YAW_LIMIT_DEG:g}°" if result.beyond else ""
    if result.beyond and result.used_yaw_deg is not None:
        limit = f"; it was {abs(result.used_yaw_deg):.1f}° when its hinge was found, so it was taped anew or slipped"
    off = f"{abs(result.yaw_deg):.1f}° ±{reach_deg:.1f}{limit}"
    return f"{result.side} sensor {result.sensor_id}: its edge is off the hinge line by {off}"


def find_hinge(instrument: Instrument, gravities: Sequence[Gravity], surface: str) -> HingeResult | None:
    """Find how a sensor sits; None where the readings are too few or too close together."""
    try:
        return _sits(instrument, find_axis(gravities, instrument.calibration), surface)
    except CalibrationError:
        return None


def _sits(instrument: Instrument, axis: HingeAxis, surface: str) -> HingeResult:
    off_deg = axis.yaw_deg - instrument.hinge.yaw_deg
    return HingeResult(
        surface,
        instrument.side,
        instrument.sensor_id,
        axis.yaw_deg,
        beyond=abs(off_deg) > YAW_LIMIT_DEG + _SURE * axis.yaw_sd_deg,
        axis=axis,
        used_yaw_deg=None if instrument.hinge.alone is None else instrument.hinge.yaw_deg,
    )


def doubt_of_seat(instrument: Instrument, neutral: Gravity, now: Gravity) -> Doubt | None:
    """Why the angle is wrong of a sensor that turned about another axis than its hinge.

    Gravity's part along the hinge stays what it is, whatever the deflection.
    """
    h, u0, u = (
        vector / np.linalg.norm(vector)
        for vector in (np.array(instrument.hinge.direction), neutral.vector_g, now.vector_g)
    )
    if float(u @ u0) < _ON_ITS_HEAD:
        return Doubt(
            "gravity turned by more than any surface does",
            "see that the sensor sits firm and its module flat in the carrier, then measure again",
        )
    limit = math.sin(math.radians(YAW_LIMIT_DEG)) * float(np.linalg.norm(u - u0)) + math.radians(_FIRM_DEG)
    lean = abs(float(h @ u - h @ u0))
    if lean <= limit:
        return None
    return Doubt(
        f"it leaned by {math.degrees(lean):.1f}° along the hinge line, expected at most "
        f"{math.degrees(limit):.1f}°: it sits askew or slipped, its module is turned, or the model was moved",
        "press it on and find the hinge (`hingeline hinge`), then measure again",
    )


def back_text(side: Side, back: Deflection, tolerance_deg: float) -> str:
    """Describe a side that came back to neutral wrong; empty where it is near enough."""
    off_deg = abs(back.deflection_deg)
    if off_deg <= max(SHARE * tolerance_deg, COVERAGE_FACTOR * back.standard_uncertainty_deg):
        return ""
    return (
        f"it came back {off_deg:.1f}° off: play or centring (`hingeline play`, `hingeline centring`), or the {side} "
        "sensor slipped or drifted, and its angles since neutral are off too: press it on, measure again"
    )


class Swept(NamedTuple):
    """How a sensor sits, and which way its surface went first."""

    hinge: HingeResult
    stroke: Stroke


def find_hinges(
    surface: str, neutral: NeutralReading, tracks: Tracks, enough_deg: float = ENOUGH_DEG
) -> tuple[Swept, ...] | None:
    """How each sensor of a surface sits, or None as long as its slow sweep doesn't tell its yaw well enough."""
    if not neutral.has_tracks(tracks):
        return None
    results = []
    for each in neutral.instruments:
        try:
            stroke = read_stroke(_swept(neutral.track(each, tracks)), each.calibration)
        except CalibrationError:
            return None
        results.append(Swept(_sits(each, stroke.axis, surface), stroke))
    known = all(each.stroke.axis.yaw_sd_deg < enough_deg for each in results)
    return tuple(results) if known else None


def enough_yaw_deg(dihedral_deg: float, tolerance_deg: float) -> float:
    """How well a yaw is to be known for the neutrals of hinges with dihedral, which it turns by its sine.

    Left against right is then known, with 95 %, to half the tolerance.
    """
    most_deg = 0.5 * tolerance_deg / (COVERAGE_FACTOR * math.sqrt(2))
    return min(ENOUGH_DEG, most_deg / max(abs(math.sin(math.radians(dihedral_deg))), 1e-6))


def _swept(course: Track) -> list[Gravity]:
    """The lines that are quiet enough to show the plumb line."""
    return [
        Gravity(vector_g, course.line_covariance_g2, course.temperature_c, float(time_s), 0.0)
        for time_s, vector_g in zip(course.time_s[course.steady], course.gravity_g[course.steady], strict=True)
    ]
