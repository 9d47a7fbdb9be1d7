"""The first stroke: what one slow movement to both ends tells of how the sensors are taped on, and how it moves.

From a stroke of each sensor, `read_stroke` finds its hinge line with covariance (`axis.find_axis`), whether its lid
faces the ground, how its +x end leans, and which way it turned first. `explain` then weighs all ways in which the
sensors may be seated and the servos may run against the direction that the person was asked for.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.axis import LAID_ON, find_axis
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, turn_about

SURE = 0.95
"""An explanation this probable needs no question."""
_FIRST_SHARE = 0.5
"""Part of the largest excursion; where the surface first reaches it is the first end."""
_NEUTRAL_S = 0.3
"""The stroke begins at the mean over this time."""
_UPSIDE_DOWN = -0.2
"""Share of gravity along the lid's normal, below which the lid faces the ground. A hinge up to 75° steep shows more."""
_MODEL_DEG = 2.0
"""Standard deviation of how level a model is set up by eye, which both sides share. Common practice, no source."""
_SEAT_DEG = 1.0
"""The same of the lean of one carrier on its skin. Common practice, no source."""
_MISTAKES = {"swapped": 0.1, "arrow": 0.03, "servo": 0.1, "stick": 0.02}
"""How often sensors are swapped, an arrow points forward, a servo runs in reverse, the stick goes the other way first;
before anything is seen. Common practice, no source."""


@dataclass(frozen=True)
class Stroke:
    """What a stroke shows about one sensor, in its carrier's frame.

    Attributes
    ----------
    axis
        The hinge line along the carrier's +x: keep it with the sensor for `deflection`, `angle_from` and the datum.
    is_upside_down
        The lid faces the ground.
    lean_deg, lean_sd_deg
        How far the +x end of the hinge line is above level, and its standard deviation.
    first_deg, second_deg
        The furthest turn to the end that was reached first and to the other one, from where the stroke began,
        right-handed about +x: trailing edge up positive where the carrier sits as it should.
    """

    axis: HingeAxis
    is_upside_down: bool
    lean_deg: float
    lean_sd_deg: float
    first_deg: float
    second_deg: float


def read_stroke(lines: Sequence[Gravity], calibration: Calibration, laid_on: HingeAxis = LAID_ON) -> Stroke:
    """Read the stroke of one sensor from its lines, from before the surface leaves neutral to the last end or later.

    Lines that accelerate may be left out. `laid_on` is what is known before, such as of an axis that was found earlier.
    Raises as `find_axis`: of a stroke of less than 5°.
    """
    axis = find_axis(lines, calibration, laid_on)
    ups = np.array([line.vector_g for line in lines])
    times_s = np.array([line.time_s for line in lines])
    start = ups[times_s <= times_s[0] + _NEUTRAL_S].mean(axis=0)
    turns_deg = np.degrees(turn_about(axis.direction, start, ups))
    first, second = _ends(turns_deg)
    units = ups / np.linalg.norm(ups, axis=1, keepdims=True)
    along = float(np.clip(units.mean(axis=0) @ np.array(axis.direction), -1, 1))
    return Stroke(
        axis=axis,
        is_upside_down=bool(units[:, 2].mean() < _UPSIDE_DOWN),
        lean_deg=math.degrees(math.asin(along)),
        lean_sd_deg=axis.elevation_sd_deg,
        first_deg=first,
        second_deg=second,
    )


def _ends(turns_deg: Array) -> tuple[float, float]:
    """The furthest turn on the side that was reached first, and that on the other side."""
    high, low = float(turns_deg.max()), float(turns_deg.min())
    far = _FIRST_SHARE * max(high, -low)
    first_up = turns_deg[int(np.argmax(np.abs(turns_deg) >= far))] > 0
    return (high, low) if first_up else (low, high)


@dataclass(frozen=True)
class Explanation:
    """One way in which the sensors may be seated and the servos run, and how probable it is beside all others.

    Attributes
    ----------
    sides
        By sensor id, where it sits.
    arrow_forward
        Sides whose carrier is turned by 180° about its lid's normal.
    upside_down
        Sides whose lid faces the ground: seen, never guessed.
    reversed_servos
        Sides whose surface runs against the stick.
    stick_reversed
        The stick was moved to the other end first.
    """

    probability: float
    sides: Mapping[str, str]
    arrow_forward: frozenset[str] = frozenset()
    upside_down: frozenset[str] = frozenset()
    reversed_servos: frozenset[str] = frozenset()
    stick_reversed: bool = False


def explain(
    strokes: Mapping[str, Stroke],
    sides: Mapping[str, str],
    expected_first: Mapping[str, int],
    *,
    dihedral_deg: float,
    sides_known: bool = False,
) -> tuple[Explanation, ...]:
    """Weigh all explanations of the strokes of a surface's sensors, the most probable first.

    Parameters
    ----------
    strokes
        By sensor id.
    sides
        By sensor id, the side on which it is taken to be: ``"left"``, ``"right"`` or ``"middle"``.
    expected_first
        By side, the direction that the surface takes first when the person does as asked: +1 trailing edge up, -1 down.
    dihedral_deg
        Of the hinge, tip up positive: only with it the lean tells left from right, and forward from aft.
    sides_known
        The person named the sides, or they were seen before: swapped sensors are out of the question.

    Notes
    -----
    The first one is to be believed where its probability is at least `SURE`. Otherwise ask what tells the first from
    the second: they differ in who has to look where. Without dihedral a carrier turned round and a servo that runs in
    reverse show the same, and the priors alone decide, never surely.
    """
    weighed = [
        (_likelihood(strokes, guess, expected_first, dihedral_deg) * prior, guess)
        for prior, guess in _guesses(strokes, sides, sides_known)
    ]
    total = sum(weight for weight, _ in weighed)
    ranked = sorted(weighed, key=lambda pair: -pair[0])
    return tuple(replace(guess, probability=weight / total) for weight, guess in ranked)


def _guesses(
    strokes: Mapping[str, Stroke], sides: Mapping[str, str], sides_known: bool
) -> Iterator[tuple[float, Explanation]]:
    """Every explanation with its prior weight."""
    seats = [(1.0, dict(sides))]
    if len(sides) == 2 and not sides_known:
        first, second = sides
        seats = [
            (1 - _MISTAKES["swapped"], dict(sides)),
            (_MISTAKES["swapped"], {first: sides[second], second: sides[first]}),
        ]
    for (weight, seated), stick in itertools.product(seats, (False, True)):
        names = sorted(seated.values())
        turned = frozenset(seated[sensor_id] for sensor_id, stroke in strokes.items() if stroke.is_upside_down)
        for arrows, servos in itertools.product(_subsets(names), _subsets(names)):
            chances = [
                _chance("stick", stick),
                *(_chance("arrow", side in arrows) for side in names),
                *(_chance("servo", side in servos) for side in names),
            ]
            yield weight * math.prod(chances), Explanation(0.0, seated, arrows, turned, servos, stick)


def _subsets(names: Sequence[str]) -> list[frozenset[str]]:
    return [frozenset(part) for size in range(len(names) + 1) for part in itertools.combinations(names, size)]


def _chance(mistake: str, is_made: bool) -> float:
    return _MISTAKES[mistake] if is_made else 1 - _MISTAKES[mistake]


def _likelihood(
    strokes: Mapping[str, Stroke], guess: Explanation, expected_first: Mapping[str, int], dihedral_deg: float
) -> float:
    """How well an explanation fits: leans by the dihedral and a roll that both share, first ends by the stick."""
    off, shared, own = [], [], []
    for sensor_id, stroke in strokes.items():
        side = guess.sides[sensor_id]
        # turned round, or upside down about the arrow, +x points to the right: lean and turn change their signs
        way = (-1 if side in guess.arrow_forward else 1) * (-1 if stroke.is_upside_down else 1)
        first = way * expected_first[side]
        first *= -1 if (side in guess.reversed_servos) != guess.stick_reversed else 1
        if first * stroke.first_deg < 0:
            return 0.0
        tip_up = {"left": 1.0, "right": -1.0}.get(side, 0.0)
        off.append(stroke.lean_deg - way * tip_up * dihedral_deg)
        shared.append(way * _MODEL_DEG)
        own.append(math.hypot(stroke.lean_sd_deg, _SEAT_DEG))
    covariance = np.outer(shared, shared) + np.diag(np.square(own))
    misses = np.array(off)
    return float(np.exp(-0.5 * misses @ np.linalg.solve(covariance, misses)) / np.sqrt(np.linalg.det(covariance)))
