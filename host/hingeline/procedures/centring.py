"""Centring: come to neutral from above and from below, again and again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from hingeline.checks.centring import CENTRING_DEG, WAYS, CentringCheck, From, away_deg
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Next, Step, Taken, joined
from hingeline.procedures.surface import Examination
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity

RESTLESS = "No rest yet: leave it alone for a second each time, or say how long with --hold."


@dataclass(frozen=True)
class Centring(Examination):
    """So many `times` a surface returns to neutral from each way, and rests at most `limit_deg` apart.

    Without a limit that of the sheet's profile holds. `returns` are those of the check; `tracks` are what came since
    the last one.
    """

    limit_deg: float | None = None
    times: int = 5
    returns: tuple[Mapping[Side, tuple[From, Gravity]], ...] = ()
    tracks: Tracks = field(default_factory=dict)

    def _check(self, neutral: NeutralReading) -> CentringCheck:
        limit_deg = self.limit_deg or CENTRING_DEG[self.sheet.tolerances.profile]
        return CentringCheck(neutral, limit_deg, away_deg(self.sheet, self.surface), self.returns)

    def next_step(self, neutral: NeutralReading) -> Step:
        """The way from which the first side has come less often."""
        side = self.instruments[0].side
        above, below = (len(self._check(neutral).gravities(side, way)) for way in WAYS)
        ask = (
            f"{'up' if above <= below else 'down'} with the {side} side, let it come back, leave it a second; "
            f"{above} of {self.times} from above, {below} from below."
        )
        return self.wait(ask, is_tracked=True, can_stand=False, restless=RESTLESS)

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Centring]:
        """Take a return; a rest that is none is passed over."""
        tracks = joined(self.tracks, event.tracks)
        check = self._check(neutral).take(event.readings, tracks)
        if check is None:
            return Next(replace(self, tracks=tracks))
        result = check.result() if check.least >= self.times else None
        following = replace(self, returns=check.returns, tracks={}, result=result)
        return Next(following, taken=f"return {len(check.returns)}")
