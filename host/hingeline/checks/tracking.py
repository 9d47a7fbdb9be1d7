"""Tracking: left against right all along a slow sweep, both ways, without a stick signal.

Sides that go together are compared as they are at one time. Sides that go against each other, as ailerons do, are
compared as each is when it is where the other was: left at 8° with right at -5° against right at 8° with left at -5°.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Literal, NamedTuple

import numpy as np

from hingeline.errors import NotMeasurable
from hingeline.lines import Floats, Mask, Track, slope_deg_s
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection, difference

Way = Literal["rising", "falling"]
BINS = 24
"""So many steps from one end of the travel to the other."""
LEAST_STEP_DEG = 0.5
_LEAST_LINES = 6
SMOOTH_S = 0.3
"""Speed, and where a travel ends, are seen in means over so long."""
MOVING_DEG_S = 1.0
"""A surface slower than this stands, or turns round."""
CLOCKS_S = 0.002
"""How far apart the clocks of two boards may be; common practice, no source."""
_LEAST_STEPS = 6


class Step(NamedTuple):
    """Tracking at one place of the travel, moving one way: left minus right there."""

    position_deg: float
    way: Way
    apart: Deflection
    lines: int

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "position_deg": round(self.position_deg, 2),
            "way": self.way,
            "left_minus_right_deg": round(self.apart.deflection_deg, 4),
            "standard_uncertainty_deg": round(self.apart.standard_uncertainty_deg, 4),
            "lines": self.lines,
        }


@dataclass(frozen=True, eq=False)
class Pair:
    """Two tracks at the same times (N,)."""

    left: Track
    right: Track

    @classmethod
    def of(cls, left: Track, right: Track) -> Pair:
        """Bring the right track to the times of the left one."""
        common = (left.time_s >= right.time_s[0]) & (left.time_s <= right.time_s[-1])
        times = left.time_s[common]
        return cls(left.at(times), right.at(times))

    @property
    def steady(self) -> Mask:
        """(N,) whether both are."""
        return self.left.steady & self.right.steady

    @property
    def opposed(self) -> bool:
        """Whether the sides go against each other."""
        steady = self.steady
        left, right = self.left.deflection_deg[steady], self.right.deflection_deg[steady]
        return bool(np.cov(left, right)[0, 1] < 0)


def steps(pair: Pair) -> tuple[Step, ...]:
    """Return the tracking along the travel.

    Raises
    ------
    NotMeasurable
        The sweep was too fast or too short to compare the sides.
    HingeVertical
        Gravity says nothing about this hinge.
    """
    steady = int(pair.steady.sum())
    found: tuple[Step, ...] = ()
    if steady >= _LEAST_LINES:
        found = tuple(_opposed(pair) if pair.opposed else _together(pair))
    if len(found) < _LEAST_STEPS:
        left_out = 100 * (1 - steady / max(1, pair.steady.size))
        raise NotMeasurable(
            f"Only {len(found)} steps of the travel have enough lines, expected at least {_LEAST_STEPS}; "
            f"{left_out:.0f} % were too fast",
            "Sweep from end to end more slowly, some ten seconds each way",
        )
    return found


def _together(pair: Pair) -> Iterator[Step]:
    left, right = pair.left, pair.right
    place = (left.deflection_deg + right.deflection_deg) / 2
    for way, chosen, middle in _bins(place, left.time_s, pair.steady):
        apart = difference(_deflection(left, chosen), _deflection(right, chosen))
        yield Step(middle, way, _out_of_step(apart, pair, chosen), int(chosen.sum()))


def _opposed(pair: Pair) -> Iterator[Step]:
    """Compare the sums of both sides: they tell how one side is, where the other is at a place."""
    left, right = pair.left, pair.right
    of_right = {
        (way, round(middle, 6)): chosen
        for way, chosen, middle in _bins(right.deflection_deg, right.time_s, pair.steady, _range(pair))
    }
    for way, by_left, middle in _bins(left.deflection_deg, left.time_s, pair.steady, _range(pair)):
        by_right = of_right.get((way, round(middle, 6)))
        if by_right is None:
            continue
        parts = [
            (one, chosen, sign) for chosen, sign in ((by_right, 1), (by_left, -1)) for one in (left, right)
        ]
        sources = [item for one, chosen, _ in parts for item in _deflection(one, chosen).budget.items()]
        value = sum(sign * _deflection(one, chosen).deflection_deg for one, chosen, sign in parts)
        apart = Deflection(value, Budget.of(sources))
        yield Step(middle, way, _out_of_step(apart, pair, by_left), int(by_left.sum() + by_right.sum()))


def _range(pair: Pair) -> tuple[float, float]:
    """Return the ends of the travel that both sides reach."""
    tracks = [one.deflection_deg[pair.steady] for one in (pair.left, pair.right)]
    return max(float(one.min()) for one in tracks), min(float(one.max()) for one in tracks)


def _bins(
    place_deg: Floats, time_s: Floats, steady: Mask, ends: tuple[float, float] | None = None
) -> Iterator[tuple[Way, Mask, float]]:
    """Yield way, lines (N,) and middle of each step of the travel that has enough lines."""
    low, high = ends or (float(place_deg[steady].min()), float(place_deg[steady].max()))
    count = max(1, min(BINS, int((high - low) / LEAST_STEP_DEG)))
    edges = np.linspace(low, high, count + 1)
    slope = slope_deg_s(place_deg, time_s, SMOOTH_S)
    ways: tuple[tuple[Way, Mask], ...] = (
        ("rising", slope > MOVING_DEG_S),
        ("falling", slope < -MOVING_DEG_S),
    )
    for start, end in pairwise(edges):
        for way, moving in ways:
            chosen = steady & moving & (place_deg >= start) & (place_deg <= end)
            if chosen.sum() >= _LEAST_LINES:
                yield way, chosen, float(start + end) / 2


def _deflection(one: Track, chosen: Mask) -> Deflection:
    return one.instrument.deflection(one.neutral, one.gravity(chosen))


def _out_of_step(apart: Deflection, pair: Pair, chosen: Mask) -> Deflection:
    """Return a difference whose budget has what boards whose clocks differ make of the speed."""
    boards = {one.instrument.sensor_id.rpartition("-")[0] for one in (pair.left, pair.right)}
    if len(boards) == 1:
        return apart
    speed = float(np.abs(slope_deg_s(pair.left.deflection_deg, pair.left.time_s, SMOOTH_S)[chosen]).mean())
    return Deflection(apart.deflection_deg, Budget.of([*apart.budget.items(), ("clocks", speed * CLOCKS_S)]))
