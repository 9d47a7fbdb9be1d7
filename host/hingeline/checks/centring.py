"""Centring: where a surface comes to rest at neutral, from above and from below."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from hingeline.checks.limits import beside_limit, of_angle, repeating
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.checks.values import Numbers
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
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
    """How the sides of a surface come back to its first neutral.

    The limit is how far readings at neutral may be apart. Of each return there is, by side, from where it came and its
    gravity.
    """

    neutral: NeutralReading
    limit_deg: float
    returns: tuple[Mapping[Side, tuple[From, Gravity]], ...] = ()

    def take(self, readings: Readings, tracks: Tracks) -> CentringCheck | None:
        """The check with a return to neutral; None where the surface was not away, or is not back."""
        now = self.neutral.gravities(readings)
        ways = {instrument.side: self._way(instrument, tracks) for instrument in self.neutral.instruments}
        back = {side: (way, now[side]) for side, way in ways.items() if way is not None}
        is_off = any(abs(angle.deflection_deg) > AWAY_DEG for angle in self.neutral.deflections(readings).values())
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
            gap, range_deg = instrument.deflection(below, above), max(max(of_way) - min(of_way) for of_way in rests)
            results += [
                of_angle(f"{side}, hysteresis", repeating(gap, *rests), self.limit_deg, CANDIDATES),
                beside_limit(
                    f"{side}, spread at neutral", range_deg, gap.standard_uncertainty_deg, self.limit_deg, CANDIDATES
                ),
            ]
            rests_deg[side] = {f"from {way}": of_way for way, of_way in zip(WAYS, rests, strict=True)}
        return CheckResult.of("centring", results, rests_deg=rests_deg)

    def _way(self, instrument: Instrument, tracks: Tracks) -> From | None:
        """From where a side came last. Fast samples are wrong, but not enough to turn above into below."""
        if len(tracks.get(instrument.sensor_id, ())) < _SURE_LINES:
            return None
        angles_deg = self.neutral.track(instrument, tracks).deflection_deg
        away = angles_deg[np.abs(angles_deg) > AWAY_DEG]
        if away.size < _SURE_LINES:
            return None
        return "above" if np.median(away[-_SURE_LINES:]) > 0 else "below"
