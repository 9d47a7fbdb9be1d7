"""A sweep of two sides, cut where it turns round, and straight lines in time through stretches of its strokes.

Where a stretch lies, and which way it goes, is seen in smoothed angles, never in the speed of single lines: what is
chosen by a noisy angle is off by the noise it was chosen for.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np

from hingeline.measure.tracks import Floats, Mask, Track, smoothed

Way = Literal["rising", "falling"]
WAYS: tuple[Way, ...] = ("rising", "falling")
SMOOTH_S = 0.3
"""Means over this time show where a surface is, and where its travel ends."""
TURN_DEG = 1.0
"""Going back by this much is a turn; less may be noise."""
AT_END_DEG = 0.4
"""This near to where it turns, a surface may stand still, or take up its play."""
_LEAST_LINES = 6
"""A straight line through fewer says little of how they scatter about it."""


@dataclass(frozen=True, eq=False)
class Pair:
    """The tracks of both sides, each with its own lines at their own times."""

    left: Track
    right: Track

    @property
    def sides(self) -> tuple[Track, Track]:
        """Left and right."""
        return self.left, self.right

    @cached_property
    def time_s(self) -> Floats:
        """(N,) times of the left lines at which both were seen and steady."""
        times, right = self.left.time_s, self.right
        both = self.left.steady & (np.interp(times, right.time_s, right.steady, left=0, right=0) == 1)
        steady: Floats = times[both]
        return steady

    @cached_property
    def places_deg(self) -> tuple[Floats, Floats]:
        """(N,) each, where left and right were, smoothed."""
        left, right = (
            np.interp(self.time_s, side.time_s, smoothed(side.deflection_deg, side.time_s, SMOOTH_S))
            for side in self.sides
        )
        return left, right

    @property
    def opposed(self) -> bool:
        """Whether the sides go against each other; one that stands goes with nothing."""
        both_go = all(np.ptp(place) > TURN_DEG for place in self.places_deg)
        return both_go and bool(np.cov(*self.places_deg)[0, 1] < 0)


class Straight(NamedTuple):
    """A straight line in time through chosen lines (N,) of the track of one side.

    It goes through `level_deg` at `time_s`, the means of theirs. The variance is how a line scatters about it, that so
    few tell no better included: of Student's t with two lines fewer (JCGM 101:2008, 6.4.9.4). The spread is the sum of
    squares of their times about the mean.
    """

    chosen: Mask
    time_s: float
    level_deg: float
    slope_deg_s: float
    variance_deg2: float
    spread_s2: float

    @classmethod
    def through(cls, track: Track, start_s: float, end_s: float) -> Straight | None:
        """Fit the steady samples from one time to another; None where they are too few."""
        chosen = track.steady & (track.time_s >= start_s) & (track.time_s <= end_s)
        count = int(chosen.sum())
        if count < _LEAST_LINES:
            return None
        times, angles = track.time_s[chosen], track.deflection_deg[chosen]
        time_s, level_deg = float(times.mean()), float(angles.mean())
        spread_s2 = float(((times - time_s) ** 2).sum())
        slope = float((times - time_s) @ angles) / spread_s2
        scatter = angles - level_deg - slope * (times - time_s)
        variance_deg2 = float(scatter @ scatter) / (count - 4)
        return cls(chosen, time_s, level_deg, slope, variance_deg2, spread_s2)

    @property
    def size(self) -> int:
        """How many lines."""
        return int(self.chosen.sum())

    @property
    def slope_sd_deg_s(self) -> float:
        """Standard deviation of the slope."""
        return math.sqrt(self.variance_deg2 / self.spread_s2)

    def at(self, time_s: float) -> float:
        """The angle at a time, in degrees."""
        return self.level_deg + self.slope_deg_s * (time_s - self.time_s)

    def variance_at(self, time_s: float) -> float:
        """The variance of `at` from the scatter of the samples, in deg²."""
        off_s2 = (time_s - self.time_s) ** 2
        return self.variance_deg2 * (1 / self.size + off_s2 / self.spread_s2)


@dataclass(frozen=True, eq=False)
class Stroke:
    """From one turn to the next: times (N,), and how far (N,) it has got, against the way never back.

    Falling is counted upside down.
    """

    way: Way
    time_s: Floats
    reached_deg: Floats

    def through(self, low_deg: float, high_deg: float, least_part: float) -> tuple[float, float] | None:
        """When it goes from one place to the other; None where it covers less than `least_part` of that.

        Where it turns, it may stand or take up its play: what is near to that is left out.
        """
        first, last = (low_deg, high_deg) if self.way == "rising" else (-high_deg, -low_deg)
        start = max(first, self.reached_deg[0] + AT_END_DEG)
        end = min(last, self.reached_deg[-1] - AT_END_DEG)
        if end - start < least_part * (high_deg - low_deg):
            return None
        begun, done = np.searchsorted(self.reached_deg, [start, end])
        return float(self.time_s[begun]), float(self.time_s[done])


def strokes(place_deg: Floats, time_s: Floats) -> Iterator[Stroke]:
    """Yield the strokes of a smoothed course (N,)."""
    for start, end in pairwise(_turns(place_deg)):
        way: Way = "rising" if place_deg[end] > place_deg[start] else "falling"
        part = slice(start, end + 1)
        upward = place_deg[part] if way == "rising" else -place_deg[part]
        yield Stroke(way, time_s[part], np.maximum.accumulate(upward))


def _turns(place_deg: Floats) -> Iterator[int]:
    """Yield where a course (N,) turns, its first and its last extreme included."""
    low = high = 0
    rising: bool | None = None
    for index, place in enumerate(place_deg.tolist()):
        low = index if place < place_deg[low] else low
        high = index if place > place_deg[high] else high
        if rising is not False and place < place_deg[high] - TURN_DEG:
            yield high
            rising, low = False, index
        elif rising is not True and place > place_deg[low] + TURN_DEG:
            yield low
            rising, high = True, index
    if rising is not None:
        yield high if rising else low
