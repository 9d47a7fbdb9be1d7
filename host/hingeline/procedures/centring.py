"""Centring: come to neutral from above and from below, again and again."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from hingeline.checks.centring import CENTRING_DEG, WAYS, CentringCheck
from hingeline.checks.results import CheckResult
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Next, Step, Taken, joined
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import Examination, read_limit_deg
from hingeline.rig.sheet import Sheet

RESTLESS = "No rest yet: leave it alone for a second each time, or say how long with --hold."


@dataclass(frozen=True)
class Centring(Examination):
    """Returns of a surface to neutral.

    Attributes
    ----------
    limit_deg
        How far readings at neutral may be apart.
    times
        How many returns from each way.
    check
        With the returns so far; None before the neutral is taken.
    tracks
        Since the last return.
    """

    limit_deg: float = 0.5
    times: int = 5
    check: CentringCheck | None = None
    tracks: Tracks = field(default_factory=dict)

    @property
    def step(self) -> Step | None:
        """Neutral first, then the way from which the first side has come less often."""
        if self.check is None:
            return Step(f"{self.surface}: sticks centred, hands off.", self.sensors)
        if self.check.least >= self.times:
            return None
        side = self.instruments[0].side
        above, below = (len(self.check.gravities(side, way)) for way in WAYS)
        ask = (
            f"{self.surface}: {'up' if above <= below else 'down'} with the {side} side, let it come back, leave it a "
            f"second; {above} of {self.times} from above, {below} from below."
        )
        return Step(ask, self.sensors, can_stand=False, restless=RESTLESS)

    def after(self, event: Taken) -> Next[Centring]:
        """Take a return; a rest that is none is passed over."""
        if self.check is None:
            following = self.at_neutral(event)
            neutral = following.procedure.neutral
            check = None if neutral is None else CentringCheck(neutral, self.limit_deg)
            return replace(following, procedure=replace(following.procedure, check=check))
        tracks = joined(self.tracks, event)
        returned = self.check.take(event.readings, tracks)
        if returned is None:
            return Next(replace(self, tracks=tracks))
        return Next(replace(self, check=returned, tracks={}), taken=f"return {len(returned.returns)}")

    @property
    def result(self) -> CheckResult:
        """What the returns come to, at the end."""
        return CheckResult.of("centring", ()) if self.check is None else self.check.result()


def begin_centring(runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]) -> Centring:
    """Begin as the choices of the run have it. Raises `UsageProblem` where the limit is none."""
    limit_deg = read_limit_deg(runner.choices["limit"]) or CENTRING_DEG[sheet.tolerances.profile]
    return Centring(sheet, surface, instruments, limit_deg=limit_deg, times=runner.choices["times"])
