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
        The rest at neutral.
    limit_deg
        How far it may creep, and left from right.
    """

    def __init__(
        self, sides: tuple[Instrument, ...], neutral: Readings, limit_deg: float = DROOP_DEG
    ) -> None:
        self._sides = sides
        self._rest = neutral
        self._neutral = {one.side: one.at_neutral(neutral) for one in sides}
        self._limit_deg = limit_deg

    def held(self, rests: Readings) -> bool:
        """Whether a rest is away from neutral."""
        return all(
            abs(one.deflection(self._neutral[one.side], one.gravity(rests)).deflection_deg) > AWAY_DEG
            for one in self._sides
        )

    def result(self, start: Readings, tracks: Tracks) -> CheckResult:
        """Return how far it crept from the rest at the start to the end of its track since.

        Raises
        ------
        NotMeasurable
            It was moved or shaken meanwhile.
        HingeVertical
            Gravity says nothing about this hinge.
        """
        crept: dict[Side, Deflection] = {}
        each_second_deg: dict[Side, tuple[float, ...]] = {}
        for one in self._sides:
            seen = track(one, self._rest[one.sensor_id], tracks[one.sensor_id])
            each_second_deg[one.side] = _each_second_deg(seen)
            from_deg = one.deflection(self._neutral[one.side], one.gravity(start)).deflection_deg
            self._refuse_moved(one.side, [value - from_deg for value in each_second_deg[one.side]])
            last = seen.steady & (seen.time_s > seen.time_s[-1] - LAST_S)
            if not last.any():
                raise NotMeasurable(
                    f"The {one.side} side shook to the end",
                    "Hold the stick still to the end; then start again",
                )
            crept[one.side] = one.deflection(one.gravity(start), seen.gravity(last))
        results = [
            of_angle(f"{side}, droop", angle, self._limit_deg, CANDIDATES) for side, angle in crept.items()
        ]
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


def _each_second_deg(seen: Track) -> tuple[float, ...]:
    """Return the mean deflection in each second, in degrees; a second without a steady line has none."""
    seconds = np.floor(seen.time_s - seen.time_s[0])
    groups = [seen.steady & (seconds == second) for second in np.unique(seconds)]
    return tuple(float(seen.deflection_deg[group].mean()) for group in groups if group.any())
