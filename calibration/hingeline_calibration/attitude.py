"""Roll of the model from the lean of both sensors, and what roll and pitch do to left against right.

On a swept hinge a roll of the model turns gravity about the hinge, one side up and the other down: left minus right is
wrong by 2 sin(sweep) times the roll. Both sensors lean along their hinges by the roll too, so it is known and goes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.budget import Budget
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis, across

_Side = TypeVar("_Side", bound=str)
SWEEP_SD_DEG = 1.0
"""How well the sheet knows the sweep of a hinge: common practice, no source."""
PITCH_SD_DEG = 2.0
"""How level a model is set up fore and aft by eye; it counts with roll and dihedral only. Common practice."""
SOURCE = "model's roll"
"""The row of the budget."""


@dataclass(frozen=True)
class Side:
    """One side, as the roll needs it: its gravity now, its calibration, and its hinge."""

    gravity: Gravity
    calibration: Calibration
    hinge: HingeAxis


@dataclass(frozen=True)
class Roll:
    """The model's roll, left wing up positive, and what it does to left minus right, each with its deviation."""

    roll_deg: float
    roll_sd_deg: float
    mismatch_deg: float
    mismatch_sd_deg: float


def roll_of(left: Side, right: Side, sweep_deg: float) -> Roll:
    """The roll of the model by the lean of the hinges of both sides, which mirror each other.

    `sweep_deg` is of the hinge, tip aft positive. The dihedral need not be known: it leans both sides outward alike.

    Notes
    -----
    The hinges along +x, toward the left tip on both sides, are (cos Λ cos e, ± sin Λ cos e, ± sin e) in the aircraft,
    X to the left, Y aft, Z up; up is there (ρ, π, √(1 - ρ² - π²)) for the roll ρ and the pitch π, nose up. With the
    leans l = h·u: ρ = (l_left + l_right) / (2 cos Λ cos e), and their difference is that by the dihedral e, the pitch
    taken for nothing. About a hinge gravity is then turned by atan2(y, z) in the hinge's own frame, on the left and on
    the right; their difference is what the mismatch is off by.
    """
    inputs = np.array([_lean(left), _lean(right), math.radians(sweep_deg), 0.0])
    deviations = np.array([_lean_sd(left), _lean_sd(right), math.radians(SWEEP_SD_DEG), math.radians(PITCH_SD_DEG)])
    roll_rad, turn_rad = _roll(inputs), _turns_apart(inputs)
    return Roll(
        math.degrees(roll_rad),
        math.degrees(_spread(_roll, inputs, deviations)),
        math.degrees(turn_rad),
        math.degrees(_spread(_turns_apart, inputs, deviations)),
    )


def without_roll(angles: Mapping[_Side, Deflection], roll: Roll) -> dict[_Side, Deflection]:
    """Angles by side as they were with the model level: each side has half of what the mismatch is off by."""
    shares = {"left": -0.5, "right": 0.5}
    return {
        side: Deflection(
            angle.deflection_deg + shares.get(side, 0.0) * roll.mismatch_deg,
            Budget.of([*angle.budget, (SOURCE, roll.mismatch_sd_deg / math.sqrt(2))]),
        )
        for side, angle in angles.items()
    }


def _roll(inputs: Array) -> float:
    left, right, sweep, pitch = inputs
    return float(math.asin((left + right) / (2 * math.cos(sweep) * math.cos(_dihedral(left, right, sweep, pitch)))))


def _dihedral(left: float, right: float, sweep: float, pitch: float) -> float:
    """The dihedral of hinges that lean this far apart: sin Λ cos e sin π + sin e cos π, the roll's square left out."""
    half, by_pitch = (left - right) / 2, math.sin(sweep) * math.sin(pitch)
    return math.asin(half / math.hypot(by_pitch, math.cos(pitch))) - math.atan2(by_pitch, math.cos(pitch))


def _turns_apart(inputs: Array) -> float:
    """How much further gravity is turned about the left hinge than about the right one, in rad."""
    left, right, sweep, pitch = inputs
    dihedral, roll = _dihedral(left, right, sweep, pitch), _roll(inputs)
    x, y = math.sin(roll), math.sin(pitch)
    z = math.sqrt(1 - x * x - y * y)

    def turn(way: float) -> float:
        inward = x * math.cos(sweep) + way * y * math.sin(sweep)
        aft = y * math.cos(sweep) - way * x * math.sin(sweep)
        return math.atan2(aft, z * math.cos(dihedral) - way * inward * math.sin(dihedral))

    return turn(1.0) - turn(-1.0)


def _lean(side: Side) -> float:
    """Share of gravity along the hinge."""
    u = side.gravity.vector_g
    return float(np.array(side.hinge.direction) @ u / np.linalg.norm(u))


def _lean_sd(side: Side) -> float:
    """Its standard deviation, by the hinge, the noise and the calibration."""
    h, u = np.array(side.hinge.direction), side.gravity.vector_g
    by_hinge = side.hinge.errors @ u
    by_calibration = h @ side.calibration.errors_g(side.gravity)
    if side.hinge.by_calibration:
        moved = np.array(across(h)) @ u @ np.array(side.hinge.by_calibration) @ side.calibration.root_covariance
        by_calibration[: moved.size] += moved
    noise = float(h @ side.gravity.covariance_g2 @ h) + side.calibration.repeat.variance_g2
    return math.sqrt(float(by_hinge @ by_hinge) + float(by_calibration @ by_calibration) + noise)


def _spread(function: Callable[[Array], float], inputs: Array, deviations: Array) -> float:
    """Standard deviation of a function of independent inputs (GUM 5.1.3, note: half the change over ± one of each)."""
    steps = np.diag(deviations)
    changes = [(function(inputs + step) - function(inputs - step)) / 2 for step in steps]
    return math.sqrt(sum(change**2 for change in changes))
