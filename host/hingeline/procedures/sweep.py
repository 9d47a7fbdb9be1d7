"""Sweep: left against right over the whole travel; before it, on request, half and full stick."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from hingeline.checks.centring import CENTRING_DEG
from hingeline.checks.limits import joined as joined_results
from hingeline.checks.points import POINTS, judge_points
from hingeline.checks.results import CheckResult
from hingeline.checks.sweep import SweepCheck
from hingeline.measure.capture import PATIENCE_S, Readings
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Next, Step, Taken, joined
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import Examination
from hingeline.rig.sheet import Sheet

STROKE_S = 60.0
"""So long may each stroke take that is still to be done, and is waited for: common practice, no source."""
WAYS: dict[str, tuple[str, ...]] = {
    "none": (),
    "one-way": ("one way",),
    "both-ways": ("one way", "the other way"),
}
"""By the choice of points, the ways on which they are held."""


@dataclass(frozen=True)
class Sweep(Examination):
    """Slow sweeps from end to end.

    Attributes
    ----------
    sweeps
        How many, there and back.
    points
        A key of `WAYS`.
    held
        The points as they were held.
    tracks
        Of the sweeps so far.
    strokes
        How many are done.
    swept
        What it comes to; None before the end.
    """

    sweeps: int = 2
    points: str = "none"
    held: tuple[Readings, ...] = ()
    tracks: Tracks = field(default_factory=dict)
    strokes: int = 0
    swept: CheckResult | None = None

    @property
    def step(self) -> Step | None:
        """Neutral, the points, then strokes until enough are done and the surface is back."""
        if self.neutral is None:
            return Step(f"{self.surface}: sticks centred, hands off.", self.sensors)
        if self.swept is not None:
            return None
        ways = WAYS[self.points]
        if len(self.held) < len(ways) * len(POINTS):
            way, number = divmod(len(self.held), len(POINTS))
            ask = f"{self.surface}, {ways[way]}: {POINTS[number]}, and hold."
            return Step(ask, self.sensors, all_moved=True)
        wanted = 2 * self.sweeps
        done = f"{self.strokes} of {wanted} strokes done" if self.strokes else f"{wanted} strokes"
        return Step(
            f"{self.surface}: sweep slowly from end to end, {done}; then back to neutral, hands off.",
            self.sensors,
            patience_s=PATIENCE_S + STROKE_S * max(wanted - self.strokes, 0),
            can_stand=False,
        )

    def after(self, event: Taken) -> Next[Sweep]:
        """Take the neutral, a point, or the strokes up to a rest."""
        if self.neutral is None:
            return self.at_neutral(event)
        wanted = len(WAYS[self.points]) * len(POINTS)
        if len(self.held) < wanted:
            held = (*self.held, event.readings)
            return Next(replace(self, held=held), taken=f"reading {len(held)} of {wanted}")
        check = SweepCheck(self.sheet, self.surface, self.neutral)
        tracks = joined(self.tracks, event)
        strokes = check.strokes(tracks)
        following = replace(self, tracks=tracks, strokes=strokes)
        if strokes < 2 * self.sweeps or not (event.confirmed or check.is_back(tracks, event.readings)):
            return Next(following, taken="the strokes so far" if strokes > self.strokes else "")
        parts = [*self._points(), check.result(tracks, event.readings)]
        return Next(replace(following, swept=joined_results(parts)), taken="the sweep")

    @property
    def result(self) -> CheckResult:
        """What points and sweep come to, at the end."""
        return self.swept or CheckResult.of("sweep", ())

    def _points(self) -> list[CheckResult]:
        if not self.held or self.neutral is None:
            return []
        count = len(POINTS)
        held = {way: self.held[n * count : (n + 1) * count] for n, way in enumerate(WAYS[self.points])}
        return [judge_points(self.neutral, held, CENTRING_DEG[self.sheet.tolerances.profile])]


def begin_sweep(runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]) -> Sweep:
    """Begin as the choices of the run have it."""
    choices = runner.choices
    return Sweep(sheet, surface, instruments, sweeps=choices["sweeps"], points=choices["points"])
