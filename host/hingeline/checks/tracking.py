"""Tracking: left against right all along a slow sweep, both ways, without a stick signal.

Sides that go together are compared as they are at one time. Sides that go against each other, as ailerons do, are
compared as each is when it is where the other was: left at 8° with right at -5° against right at 8° with left at -5°.

In each stretch of a stroke either side has a straight line in time through its own lines. Time is free of noise: the
slope of one side over the other, which is far from -1 with differential, is not flattened, and nothing has to be
known between the lines of two sensors.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from hingeline.checks.sweep_strokes import WAYS, Pair, Straight, Stroke, Way, strokes
from hingeline.errors import NotMeasurable
from hingeline.measure.tracks import Floats, Track
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection

BINS = 24
"""Steps from one end of the travel to the other."""
LEAST_STEP_DEG = 0.5
_LEAST_PART = 0.5
"""A stroke that goes through less than this part of a step is left out there."""
_SURE = 3.0
"""A side certainly moves when it is this many standard deviations from standing still."""
CLOCKS_S = 0.002
"""How far apart the clocks of two boards may be; common practice, no source."""
_LEAST_STEPS = 6


class Step(NamedTuple):
    """Tracking at one place of the travel, moving one way: left minus right there."""

    position_deg: float
    way: Way
    apart: Deflection
    lines: int


class _Look(NamedTuple):
    """What is compared, and where the surface is taken to be: weights (2,) of left and right in a sum."""

    compared: Floats
    place: Floats


_TOGETHER = (_Look(np.array([1.0, -1.0]), np.array([0.5, 0.5])),)
_OPPOSED = (
    _Look(np.array([1.0, 0.0]), np.array([0.0, 1.0])),
    _Look(np.array([0.0, -1.0]), np.array([1.0, 0.0])),
)
"""Left where right is at a place, less right where left is there."""


class _Passage(NamedTuple):
    """One stroke through the middle of one step: what is compared, at that time, and the lines of left and right.

    The weights (2,) are what an error of left and right does to it: the place is read off them, too.
    """

    value_deg: float
    weights: Floats
    lines: tuple[Straight, Straight]
    time_s: float

    @classmethod
    def of(cls, look: _Look, lines: tuple[Straight, Straight], middle_deg: float) -> _Passage | None:
        """The passage; None where it isn't sure that the surface moves."""
        slopes = np.array([line.slope_deg_s for line in lines])
        slope, start_s = float(look.place @ slopes), lines[0].time_s
        unsure = math.hypot(*(look.place * [line.slope_sd_deg_s for line in lines]))
        if abs(slope) <= _SURE * unsure:
            return None
        time_s = start_s + (middle_deg - float(look.place @ [line.at(start_s) for line in lines])) / slope
        weights = look.compared - float(look.compared @ slopes) / slope * look.place
        return cls(float(look.compared @ [line.at(time_s) for line in lines]), weights, lines, time_s)

    @property
    def variance_deg2(self) -> float:
        """From the scatter of the samples of both sides."""
        return float(self.weights**2 @ [line.variance_at(self.time_s) for line in self.lines])


def steps(pair: Pair) -> tuple[Step, ...]:
    """Compare left with right, step by step along the travel.

    Raises `HingeVertical`, and `NotMeasurable` where the sweep was too fast or too short to compare the sides.
    """
    steady = pair.time_s.size
    along = tuple(_steps(pair, _OPPOSED if pair.opposed else _TOGETHER)) if steady > 1 else ()
    if len(along) < _LEAST_STEPS:
        left_out = 100 * (1 - steady / pair.left.time_s.size)
        raise NotMeasurable(
            f"Only {len(along)} steps of the travel have enough lines, expected at least {_LEAST_STEPS}; "
            f"{left_out:.0f} % were too fast",
            "Sweep from end to end more slowly, some ten seconds each way",
        )
    return along


def _steps(pair: Pair, looks: Sequence[_Look]) -> Iterator[Step]:
    """Yield every step through which each look has a passage."""
    left, right = pair.places_deg
    courses = [look.place[0] * left + look.place[1] * right for look in looks]
    low = max(float(course.min()) for course in courses)
    high = min(float(course.max()) for course in courses)
    count = max(1, min(BINS, int((high - low) / LEAST_STEP_DEG)))
    cut = [list(strokes(course, pair.time_s)) for course in courses]
    for ends in pairwise(np.linspace(low, high, count + 1).tolist()):
        for way in WAYS:
            ways = [[stroke for stroke in of_look if stroke.way == way] for of_look in cut]
            passages = [list(_passages(pair, *part, ends)) for part in zip(looks, ways, strict=True)]
            if all(passages):
                lines = sum(passage.lines[0].size for of_look in passages for passage in of_look)
                yield Step(sum(ends) / 2, way, _apart(pair, passages), lines)


def _passages(pair: Pair, look: _Look, through: Sequence[Stroke], ends_deg: tuple[float, float]) -> Iterator[_Passage]:
    for stroke in through:
        if (when := stroke.through(*ends_deg, _LEAST_PART)) is None:
            continue
        left, right = (Straight.through(side, *when) for side in pair.sides)
        if left and right and (passage := _Passage.of(look, (left, right), sum(ends_deg) / 2)):
            yield passage


def _apart(pair: Pair, of_looks: Sequence[Sequence[_Passage]]) -> Deflection:
    """Sum the means of the passages of each look, at least one of each."""
    sources = [item for side in (0, 1) for item in _sources(pair.sides[side], side, of_looks)]
    value, out_of_step = 0.0, 0.0
    for passages in of_looks:
        value += float(np.mean([passage.value_deg for passage in passages]))
        sources.append(("noise", math.sqrt(sum(passage.variance_deg2 for passage in passages)) / len(passages)))
        out_of_step += float(np.mean([passage.weights[1] * passage.lines[1].slope_deg_s for passage in passages]))
    if len({track.instrument.sensor_id.rpartition("-")[0] for track in pair.sides}) > 1:
        sources.append(("clocks", abs(out_of_step) * CLOCKS_S))
    return Deflection(value, Budget.of(sources))


def _sources(track: Track, side: int, of_looks: Sequence[Sequence[_Passage]]) -> Iterator[tuple[str, float]]:
    """Yield what the neutral, the calibration and the hinge of one side make of it.

    The neutral is one and the same in all looks; how the errors of the others go along is not known.
    """
    whole, at_neutral = 0.0, 0.0
    for passages in of_looks:
        chosen = np.any([passage.lines[side].chosen for passage in passages], axis=0)
        now = replace(track.gravity(chosen), covariance_g2=np.zeros((3, 3)))
        budget = track.instrument.deflection(track.neutral, now).budget
        weight = float(np.mean([passage.weights[side] for passage in passages]))
        whole += weight
        at_neutral = dict(budget.items()).get("noise", 0.0)
        yield from budget.without("noise").scaled(weight).items()
    yield "noise", abs(whole) * at_neutral
