"""Centring: where a surface comes to rest at neutral, from above and from below."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from hingeline.checks.limits import beside_limit, of_angle, spread_of_mean
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks, track
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


@dataclass(frozen=True, eq=False)
class CentringCheck:
    """How both sides of a surface come back to neutral.

    Parameters
    ----------
    sides
        An instrument for each side.
    neutral
        The first readings at neutral.
    limit_deg
        How far readings at neutral may be apart.
    returns
        Of each return, by side, from where it came and its gravity.
    """

    sides: tuple[Instrument, ...]
    neutral: Readings
    limit_deg: float
    returns: tuple[Mapping[Side, tuple[From, Gravity]], ...] = ()

    @cached_property
    def _neutral(self) -> dict[Side, Gravity]:
        return {instrument.side: instrument.at_neutral(self.neutral) for instrument in self.sides}

    def take(self, readings: Readings, tracks: Tracks) -> CentringCheck | None:
        """The check with a return to neutral; None where the surface was not away, or is not back."""
        now = {instrument.side: instrument.gravity(readings) for instrument in self.sides}
        ways = {instrument.side: self._way(instrument, tracks) for instrument in self.sides}
        angles = [
            instrument.deflection(self._neutral[instrument.side], now[instrument.side]).deflection_deg
            for instrument in self.sides
        ]
        back = {side: (way, now[side]) for side, way in ways.items() if way is not None}
        if max(map(abs, angles)) > AWAY_DEG or not back:
            return None
        return replace(self, returns=(*self.returns, back))

    def gravities(self, side: Side, way: From) -> list[Gravity]:
        """Of the returns of a side from one way."""
        return [back[side][1] for back in self.returns if side in back and back[side][0] == way]

    @property
    def least(self) -> int:
        """How many returns from each way every side has."""
        return min(len(self.gravities(instrument.side, way)) for instrument in self.sides for way in WAYS)

    def result(self) -> CheckResult:
        """Judge hysteresis and spread of each side, which must have returned both ways. Raises `HingeVertical`."""
        results: list[LimitResult] = []
        rests_deg: dict[Side, dict[str, tuple[float, ...]]] = {}
        for instrument in self.sides:
            readings = {
                way: [
                    instrument.deflection(self._neutral[instrument.side], gravity).deflection_deg
                    for gravity in self.gravities(instrument.side, way)
                ]
                for way in WAYS
            }
            above, below = (mean_gravity(self.gravities(instrument.side, way)) for way in WAYS)
            gap, spread_deg = instrument.deflection(below, above), spread_of_mean(*readings.values())
            results.append(of_angle(f"{instrument.side}, hysteresis", gap, self.limit_deg, CANDIDATES, spread_deg))
            results.append(self._repeating(instrument.side, readings, gap.standard_uncertainty_deg))
            rests_deg[instrument.side] = {f"from {way}": tuple(readings[way]) for way in WAYS}
        inside = all(result.inside for result in results)
        return CheckResult("", "centring", tuple(results), (), inside, rests_deg=rests_deg)

    def _repeating(self, side: Side, readings: dict[From, list[float]], uncertainty_deg: float) -> LimitResult:
        spread_deg = max(max(group) - min(group) for group in readings.values())
        name = f"{side}, spread at neutral"
        return beside_limit(name, spread_deg, uncertainty_deg, self.limit_deg, CANDIDATES)

    def _way(self, instrument: Instrument, tracks: Tracks) -> From | None:
        """From where a side came last. Fast samples are wrong, but not enough to turn above into below."""
        samples = tracks.get(instrument.sensor_id, ())
        if len(samples) < _SURE_LINES:
            return None
        angles_deg = track(instrument, self.neutral[instrument.sensor_id], samples).deflection_deg
        away = angles_deg[np.abs(angles_deg) > AWAY_DEG]
        if away.size < _SURE_LINES:
            return None
        return "above" if np.median(away[-_SURE_LINES:]) > 0 else "below"
