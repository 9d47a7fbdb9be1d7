"""Centring: where a surface comes to rest at neutral, from above and from below."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Literal

import numpy as np

from hingeline.checks.limits import beside_limit, of_angle, repeating
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.checks.values import Numbers
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.rig.sheet import Sheet
from hingeline.rig.tolerances import ProfileName
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity, mean_gravity

From = Literal["above", "below"]
WAYS: tuple[From, ...] = ("above", "below")
CENTRING_DEG: dict[ProfileName, float] = {"sport": 0.5, "glider": 0.2, "pattern": 0.2, "jet": 0.2, "3d": 0.5}
"""A good servo does 0.1-0.2°, sport 0.5°: common practice, no source."""
AWAY_DEG = 3.0
"""Farther than this from neutral, a surface is away; one with small throws is away at a part of them."""
_AWAY_SHARE = 0.5
_SPREADS = 2.0
"""Standard deviations that make the limit: about 95 % of all returns lie within them."""
_SURE_LINES = 3
CANDIDATES = (
    "play: `hingeline play` tells",
    "a pushrod that flexes or binds in its tube",
    "a stiff or dirty hinge, or a horn that rubs",
    "worn servo gears or feedback",
)


@dataclass(frozen=True, eq=False)
class CentringCheck:
    """How the sides of a surface come back to its first neutral.

    The limit is how far readings at neutral may be apart. Farther from neutral than `away_deg` a surface is away. Of
    each return there is, by side, from where it came and its gravity.
    """

    neutral: NeutralReading
    limit_deg: float
    away_deg: float = AWAY_DEG
    returns: tuple[Mapping[Side, tuple[From, Gravity]], ...] = ()

    def take(self, readings: Readings, tracks: Tracks) -> CentringCheck | None:
        """The check with a return to neutral; None where the surface was not away, or is not back."""
        now = self.neutral.gravities(readings)
        ways = {instrument.side: self._way(instrument, tracks) for instrument in self.neutral.instruments}
        back = {side: (way, now[side]) for side, way in ways.items() if way is not None}
        is_off = any(abs(angle.deflection_deg) > self.away_deg for angle in self.neutral.deflections(readings).values())
        if is_off or not back:
            return None
        return replace(self, returns=(*self.returns, back))

    def gravities(self, side: Side, way: From) -> list[Gravity]:
        """Of the returns of a side from one way."""
        return [back[side][1] for back in self.returns if side in back and back[side][0] == way]

    @property
    def least(self) -> int:
        """How many returns from each way every side has."""
        return min(len(self.gravities(side, way)) for side in self.neutral.gravity for way in WAYS)

    def result(self) -> CheckResult:
        """Judge hysteresis and spread of each side, which must have returned both ways. Raises `HingeVertical`."""
        results: list[LimitResult] = []
        rests_deg: dict[Side, dict[str, Numbers]] = {}
        for instrument in self.neutral.instruments:
            side = instrument.side
            gravities = [self.gravities(side, way) for way in WAYS]
            rests = [
                tuple(instrument.deflection(self.neutral.gravity[side], each).deflection_deg for each in of_way)
                for of_way in gravities
            ]
            above, below = map(mean_gravity, gravities)
            gap, spread = instrument.deflection(below, above), spread_of(rests)
            results += [
                of_angle(f"{side}, hysteresis", repeating(gap, *rests), self.limit_deg, CANDIDATES),
                beside_limit(f"{side}, spread at neutral", *spread, self.limit_deg / _SPREADS, CANDIDATES),
            ]
            rests_deg[side] = {f"from {way}": of_way for way, of_way in zip(WAYS, rests, strict=True)}
        return CheckResult.of("centring", results, rests_deg=rests_deg)

    def _way(self, instrument: Instrument, tracks: Tracks) -> From | None:
        """From where a side came last. Fast samples are wrong, but not enough to turn above into below."""
        if len(tracks.get(instrument.sensor_id, ())) < _SURE_LINES:
            return None
        angles_deg = self.neutral.track(instrument, tracks).deflection_deg
        away = angles_deg[np.abs(angles_deg) > self.away_deg]
        if away.size < _SURE_LINES:
            return None
        return "above" if np.median(away[-_SURE_LINES:]) > 0 else "below"


def away_deg(sheet: Sheet, surface: str) -> float:
    """From how far off neutral a surface is away: half of its smaller full throw, where that is less than usual."""
    throws_deg = [target.deflection_deg for target in sheet.targets(surface)]
    ways = [[abs(deg) for deg in throws_deg if deg * sign > 0] for sign in (1, -1)]
    return min([AWAY_DEG, *(_AWAY_SHARE * max(way) for way in ways if way)])


def spread_of(groups: Sequence[Sequence[float]]) -> tuple[float, float]:
    """The standard deviation about the mean of each group, all pooled, and its own standard uncertainty.

    That of a standard deviation with ν degrees of freedom is 1/√(2ν) of it (GUM, JCGM 100:2008, E.4.3).
    """
    freedom = sum(len(group) - 1 for group in groups)
    if freedom < 1:
        return 0.0, 0.0
    deviation = sqrt(sum(float(np.var(group)) * len(group) for group in groups) / freedom)
    return deviation, deviation / sqrt(2 * freedom)
