"""Droop: how far a surface creeps while a position is held."""

from __future__ import annotations

import numpy as np

from hingeline.checks.limits import of_angle
from hingeline.checks.results import CheckResult
from hingeline.checks.values import LEFT_RIGHT, Numbers
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.tracks import Track, Tracks
from hingeline.units import Side
from hingeline_calibration.hinge import Deflection, difference

DROOP_DEG = 0.5
"""Of a flap at full deflection, held for a minute: common practice, no source."""
AWAY_DEG = 3.0
"""At less than this from neutral nothing is held."""
MOVED_DEG = 5.0
"""A side that creeps farther than this was moved."""
LAST_S = 2.0
"""The end is the mean over this time."""
CANDIDATES = (
    "a servo too weak for the load: shorter arm, longer horn, or a stronger servo",
    "a supply whose voltage sags",
    "a linkage or horn that bends",
    "a model that settled: watch whether both sides went alike",
)


def is_held(neutral: NeutralReading, readings: Readings) -> bool:
    """Whether every side is away from neutral."""
    return all(abs(angle.deflection_deg) > AWAY_DEG for angle in neutral.deflections(readings).values())


def judge_droop(neutral: NeutralReading, start: Readings, tracks: Tracks, limit_deg: float = DROOP_DEG) -> CheckResult:
    """Judge how far each side crept from the reading at the start to the end of its track.

    The limit is how far one may creep, and left from right. Raises `HingeVertical`, and `NotMeasurable` where a side
    was moved or shaken meanwhile.
    """
    crept: dict[Side, Deflection] = {}
    each_second_deg: dict[Side, Numbers] = {}
    begun, at_start = neutral.deflections(start), neutral.gravities(start)
    for instrument in neutral.instruments:
        side, course = instrument.side, neutral.track(instrument, tracks)
        each_second_deg[side] = _each_second_deg(course)
        _refuse_moved(side, [value - begun[side].deflection_deg for value in each_second_deg[side]])
        last = course.steady & (course.time_s > course.time_s[-1] - LAST_S)
        if not last.any():
            raise NotMeasurable(
                f"The {side} side shook to the end", "Hold the stick still to the end; then start again"
            )
        crept[side] = instrument.deflection(at_start[side], course.gravity(last))
    results = [of_angle(f"{side}, droop", angle, limit_deg, CANDIDATES) for side, angle in crept.items()]
    if {"left", "right"} <= set(crept):
        apart = difference(crept["left"], crept["right"])
        results.append(of_angle(f"{LEFT_RIGHT}, droop", apart, limit_deg, CANDIDATES))
    return CheckResult.of("droop", results, each_second_deg=each_second_deg)


def _refuse_moved(side: str, creeping_deg: list[float]) -> None:
    for second, value in enumerate(creeping_deg, 1):
        if abs(value) > MOVED_DEG:
            raise NotMeasurable(
                f"The {side} side went {value:+.1f}° in second {second}, expected less than {MOVED_DEG:g}°",
                "Hold the stick or switch where it is for the whole time; then start again",
            )


def _each_second_deg(course: Track) -> Numbers:
    """The mean deflection of each second, in degrees; seconds without a steady sample are left out."""
    seconds = np.floor(course.time_s - course.time_s[0])
    groups = [course.steady & (seconds == second) for second in np.unique(seconds)]
    return tuple(float(course.deflection_deg[group].mean()) for group in groups if group.any())
