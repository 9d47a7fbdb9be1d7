"""Centring: where a surface comes to rest at neutral, from above and from below."""

from __future__ import annotations

from collections import defaultdict
from typing import Literal

import numpy as np

from hingeline.checks.limits import beside_limit, of_angle, spread_of_mean
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Lines, track
from hingeline.rig.tolerances import ProfileName
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity, mean_gravity

From = Literal["above", "below"]
WAYS: tuple[From, ...] = ("above", "below")
CENTRING_DEG: dict[ProfileName, float] = {"sport": 0.5, "glider": 0.2, "pattern": 0.2, "jet": 0.2, "3d": 0.5}
"""A good servo does 0.1-0.2°, sport 0.5°: common practice, no source."""
AWAY_DEG = 3.0
"""Farther than this from neutral, a surface is away."""
_SURE_LINES = 3
CANDIDATES = (
    "play: `hingeline play` tells",
    "a pushrod that flexes or binds in its tube",
    "a stiff or dirty hinge, or a horn that rubs",
    "worn servo gears or feedback",
)


class CentringCheck:
    """How both sides of a surface come back to neutral.

    Parameters
    ----------
    sides
        An instrument for each side.
    neutral
        The first rest at neutral.
    limit_deg
        How far rests at neutral may be apart.
    """

    def __init__(self, sides: tuple[Instrument, ...], neutral: Readings, limit_deg: float) -> None:
        self._sides = sides
        self._rest = neutral
        self._neutral = {one.side: one.at_neutral(neutral) for one in sides}
        self._limit_deg = limit_deg
        self._taken: dict[tuple[Side, From], list[Gravity]] = defaultdict(list)
        self._returns: list[dict[Side, From]] = []

    def take(self, rests: Readings, lines: Lines) -> bool:
        """Take a rest, and the lines since the last one that was taken; return whether it is a return to neutral."""
        now = {one.side: one.gravity(rests) for one in self._sides}
        seen = {one.side: self._way(one, lines) for one in self._sides}
        ways = {side: way for side, way in seen.items() if way is not None}
        angles = [
            one.deflection(self._neutral[one.side], now[one.side]).deflection_deg for one in self._sides
        ]
        if max(map(abs, angles)) > AWAY_DEG or not ways:
            return False
        for side, way in ways.items():
            self._taken[side, way].append(now[side])
        self._returns.append(ways)
        return True

    def forget_last(self) -> None:
        """Take the last return back; there must be one."""
        for side, way in self._returns.pop().items():
            self._taken[side, way].pop()

    @property
    def least(self) -> int:
        """How many returns from each way every side has."""
        return min(len(self._taken[one.side, way]) for one in self._sides for way in WAYS)

    def returns(self, side: Side, way: From) -> int:
        """Return how many returns from one way a side has."""
        return len(self._taken[side, way])

    def result(self) -> CheckResult:
        """Return what it comes to; every side must have come both ways. Raises `HingeVertical`."""
        results: list[LimitResult] = []
        rests_deg: dict[Side, dict[str, tuple[float, ...]]] = {}
        for one in self._sides:
            readings = {
                way: [
                    one.deflection(self._neutral[one.side], gravity).deflection_deg
                    for gravity in self._taken[one.side, way]
                ]
                for way in WAYS
            }
            above, below = (mean_gravity(self._taken[one.side, way]) for way in WAYS)
            gap, spread_deg = one.deflection(below, above), spread_of_mean(*readings.values())
            results.append(of_angle(f"{one.side}, hysteresis", gap, self._limit_deg, CANDIDATES, spread_deg))
            results.append(self._repeating(one.side, readings, gap.standard_uncertainty_deg))
            rests_deg[one.side] = {f"from {way}": tuple(readings[way]) for way in WAYS}
        inside = all(result.inside for result in results)
        return CheckResult("", "centring", tuple(results), (), inside, rests_deg=rests_deg)

    def _repeating(
        self, side: Side, readings: dict[From, list[float]], uncertainty_deg: float
    ) -> LimitResult:
        spread_deg = max(max(group) - min(group) for group in readings.values())
        name = f"{side}, spread at neutral"
        return beside_limit(name, spread_deg, uncertainty_deg, self._limit_deg, CANDIDATES)

    def _way(self, one: Instrument, lines: Lines) -> From | None:
        """Return from where a side came last; fast lines are off, but not by enough to turn above into below."""
        samples = lines.of(one.sensor_id)
        if len(samples) < _SURE_LINES:
            return None
        angles_deg = track(one, self._rest[one.sensor_id], samples).deflection_deg
        away = angles_deg[np.abs(angles_deg) > AWAY_DEG]
        if away.size < _SURE_LINES:
            return None
        return "above" if np.median(away[-_SURE_LINES:]) > 0 else "below"
