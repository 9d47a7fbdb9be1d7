"""Sweep: left against right over the whole travel; before it, on request, half and full stick."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from hingeline.checks.centring import CENTRING_DEG
from hingeline.checks.limits import joined as joined_results
from hingeline.checks.points import POINTS, judge_points
from hingeline.checks.sweep import SweepCheck
from hingeline.measure.capture import PATIENCE_S, Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Next, Step, Taken, joined
from hingeline.procedures.surface import Examination

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
    """Slow sweeps from end to end and back, so many; `points`, a key of `WAYS`, are held before.

    Kept are the points as they were `held`, and the `tracks` of the sweeps so far with how many `strokes` they hold.
    """

    sweeps: int = 2
    points: str = "none"
    held: tuple[Readings, ...] = ()
    tracks: Tracks = field(default_factory=dict)
    strokes: int = 0

    def next_step(self, neutral: NeutralReading) -> Step:
        """The points, then strokes until enough are done and the surface is back."""
        ways = WAYS[self.points]
        way, number = divmod(len(self.held), len(POINTS))
        if way < len(ways):
            return self.wait(f"{POINTS[number]}, and hold.", ways[way], all_moved=True)
        wanted = 2 * self.sweeps
        done = f"{self.strokes} of {wanted} strokes done" if self.strokes else f"{wanted} strokes"
        return self.wait(
            f"sweep slowly from end to end, {done}; then back to neutral, hands off.",
            patience_s=PATIENCE_S + STROKE_S * max(wanted - self.strokes, 0),
            is_tracked=True,
            can_stand=False,
        )

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Sweep]:
        """Take a point, or the strokes up to a rest."""
        wanted = len(WAYS[self.points]) * len(POINTS)
        if len(self.held) < wanted:
            held = (*self.held, event.readings)
            return Next(replace(self, held=held), taken=f"reading {len(held)} of {wanted}")
        check = SweepCheck(self.sheet, self.surface, neutral)
        tracks = joined(self.tracks, event.tracks)
        strokes = check.strokes(tracks)
        following = replace(self, tracks=tracks, strokes=strokes)
        if strokes < 2 * self.sweeps or not (event.confirmed or check.is_back(tracks, event.readings)):
            return Next(following, taken="the strokes so far" if strokes > self.strokes else "")
        results = [check.result(tracks, event.readings)]
        if self.held:
            ways = {way: self.held[n * len(POINTS) :][: len(POINTS)] for n, way in enumerate(WAYS[self.points])}
            results.insert(0, judge_points(neutral, ways, CENTRING_DEG[self.sheet.tolerances.profile]))
        return Next(replace(following, result=joined_results(results)), taken="the sweep")
