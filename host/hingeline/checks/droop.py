"""Droop: how far a surface creeps while a position is held."""

from __future__ import annotations

import numpy as np

from hingeline.checks.limits import of_angle
from hingeline.checks.results import CheckResult
from hingeline.errors import NotMeasurable
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Track, Tracks, track
from hingeline.units import Side
from hingeline_calibration.hinge import Deflection, difference

DROOP_DEG = 0.5
"""Of a flap at full deflection, held for a minute: common practice, no source."""
AWAY_DEG = 3.0
"""At less than this from neutral nothing is held."""
MOVED_DEG = 5.0
"""Who creeps farther than this was moved."""
LAST_S = 2.0
"""The end is the mean of so long."""
CANDIDATES = (
    "a servo too weak for the load: shorter arm, longer horn, or a stronger servo",
    "a supply whose voltage sags",
    "a linkage or horn that bends",
    "a model that settled: watch whether both sides went alike",
)


class DroopCheck:
    """What both sides of a surface do while a position is held.

    Parameters
    ----------
    sides
        An instrument for each side.
    neutral
        The readings at neutral.
    limit_deg
        How far it may creep, and left from right.
    """

    def __init__(self, sides: tuple[Instrument, ...], neutral: Readings, limit_deg: float = DROOP_DEG) -> None:
        self._sides = sides
        self._readings = neutral
        self._neutral = {instrument.side: instrument.at_neutral(neutral) for instrument in sides}
        self._limit_deg = limit_deg

    def held(self, readings: Readings) -> bool:
        """Whether a rest is away from neutral."""
        return all(
            abs(instrument.deflection(self._neutral[instrument.side], instrument.gravity(readings)).deflection_deg)
            > AWAY_DEG
            for instrument in self._sides
        )

    def result(self, start: Readings, tracks: Tracks) -> CheckResult:
        """Judge how far each side crept from the reading at the start to the end of its track.

        Raises
        ------
        NotMeasurable
            It was moved or shaken meanwhile.
        HingeVertical
            Gravity says nothing about this hinge.
        """
        crept: dict[Side, Deflection] = {}
        each_second_deg: dict[Side, tuple[float, ...]] = {}
        for instrument in self._sides:
            course = track(instrument, self._readings[instrument.sensor_id], tracks[instrument.sensor_id])
            each_second_deg[instrument.side] = _each_second_deg(course)
            from_deg = instrument.deflection(self._neutral[instrument.side], instrument.gravity(start)).deflection_deg
            self._refuse_moved(instrument.side, [value - from_deg for value in each_second_deg[instrument.side]])
            last = course.steady & (course.time_s > course.time_s[-1] - LAST_S)
            if not last.any():
                raise NotMeasurable(
                    f"The {instrument.side} side shook to the end",
                    "Hold the stick still to the end; then start again",
                )
            crept[instrument.side] = instrument.deflection(instrument.gravity(start), course.gravity(last))
        results = [of_angle(f"{side}, droop", angle, self._limit_deg, CANDIDATES) for side, angle in crept.items()]
        if {"left", "right"} <= set(crept):
            apart = difference(crept["left"], crept["right"])
            results.append(of_angle("left - right, droop", apart, self._limit_deg, CANDIDATES))
        inside = all(result.inside for result in results)
        return CheckResult("", "droop", tuple(results), (), inside, each_second_deg=each_second_deg)

    def _refuse_moved(self, side: str, creeping_deg: list[float]) -> None:
        for second, value in enumerate(creeping_deg):
            if abs(value) > MOVED_DEG:
                raise NotMeasurable(
                    f"The {side} side went {value:+.1f}° in second {second + 1}, expected less than {MOVED_DEG:g}°",
                    "Hold the stick or switch where it is for the whole time; then start again",
                )


def _each_second_deg(course: Track) -> tuple[float, ...]:
    """The mean deflection of each second, in degrees; seconds without a steady sample are left out."""
    seconds = np.floor(course.time_s - course.time_s[0])
    groups = [course.steady & (seconds == second) for second in np.unique(seconds)]
    return tuple(float(course.deflection_deg[group].mean()) for group in groups if group.any())
