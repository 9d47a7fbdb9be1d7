"""How a surface went from one position to the next: whether it is there, what is strange, whether the model moved."""

from __future__ import annotations

from collections.abc import Mapping
from math import copysign, sqrt

from hingeline.checks.endpoints import BOTH_OTHER_WAY, ONE_OTHER_WAY, OTHER_WAY, REVERSE, STANDS
from hingeline.checks.positions import Position
from hingeline.units import Side
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.hinge import Deflection

_UNDER_WAY = 0.3
"""A rest at less than this part of the way is still where it was, knocked perhaps, or a stick on its way."""
_STANDS, _LEAST_DEG = 0.1, 1.0
"""A side that does less than this part of a way, which is at least so long, does not move."""
LEAST_SHIFT_DEG = 0.2
"""No bench can show less than this: common practice, no source."""
_NOISES = 4.0
CAME_BACK = "came back off"
"""The source of uncertainty of throws after which a side came back to neutral off."""


def is_near(now_deg: float, was_deg: float, left_deg: float, goal_deg: float) -> bool:
    """Whether a side is nearer to where it was than that it could stand at its next goal, or at a reversed one.

    At the position that it leaves it stood at `was_deg`, and should have at `left_deg`.
    """
    had_gone = abs(was_deg) >= _UNDER_WAY * abs(left_deg) > 0
    if not goal_deg:
        return had_gone and abs(now_deg) > (1 - _UNDER_WAY) * min(abs(was_deg), abs(left_deg))
    on_its_side = left_deg * goal_deg < 0 < now_deg * was_deg
    moved = abs(now_deg - was_deg) >= _UNDER_WAY * abs(goal_deg - left_deg)
    return abs(now_deg) < _UNDER_WAY * abs(goal_deg) or (had_gone and (on_its_side or not moved))


def strange(
    position: Position, left: Position, was: Mapping[Side, Deflection], now: Mapping[Side, Deflection]
) -> dict[Side, str]:
    """By side, what a person has to see to before any advice on its throw: no movement, or the wrong way."""
    mixed = any(" " in target.command for target in position.targets.values())
    reverse = REVERSE["preset" if position.mix else "mixed" if mixed else ""]
    other_way = [
        side
        for side, target in position.targets.items()
        if -now[side].deflection_deg * target.deflection_deg > _UNDER_WAY * target.deflection_deg**2
    ]
    swapped = position.opposed and len(other_way) == len(position.targets)
    texts = {}
    for side in position.targets:
        planned_deg = abs(position.goal_deg(side) - left.goal_deg(side))
        moved_deg = abs(now[side].deflection_deg - was[side].deflection_deg)
        if planned_deg > _LEAST_DEG and moved_deg < _STANDS * planned_deg:
            texts[side] = STANDS
        elif side in other_way:
            texts[side] = (BOTH_OTHER_WAY if swapped else OTHER_WAY).format(reverse=reverse)
        elif other_way:
            texts[side] = ONE_OTHER_WAY
    return texts


def common_shift(before: Mapping[Side, Deflection], now: Mapping[Side, Deflection]) -> float | None:
    """How far left and right have turned alike from one reading to the next, in degrees.

    None where one of them is missing, they turned apart, or the turn is within noise or `LEAST_SHIFT_DEG`. The model's
    pitch turns both sides alike; one side that was adjusted turns alone.
    """
    if not {"left", "right"} <= set(before) & set(now):
        return None
    shifts = [now[side].deflection_deg - before[side].deflection_deg for side in ("left", "right")]
    smaller = min(map(abs, shifts))
    noise_deg = max(
        Budget.of(row for row in angle.budget if row.source in ("noise", "chip")).standard_uncertainty
        for angle in (*before.values(), *now.values())
    )
    if shifts[0] * shifts[1] <= 0 or smaller < max(LEAST_SHIFT_DEG, _NOISES * noise_deg):
        return None
    return copysign(smaller, shifts[0])


def off_neutral(back: Mapping[Side, Deflection]) -> dict[Side, float]:
    """By side that came back to neutral off by more than its 95 % uncertainty, how far off it is, in degrees."""
    return {
        side: abs(angle.deflection_deg)
        for side, angle in back.items()
        if abs(angle.deflection_deg) > COVERAGE_FACTOR * angle.standard_uncertainty_deg
    }


def uncertain_by(angle: Deflection, off_deg: float) -> Deflection:
    """An angle since a neutral to which the side came back off.

    The sensor slipped, or the surface stood elsewhere at neutral, before or after the angle was read: nobody knows
    which, so the error is anywhere from nothing to all of it (a rectangular distribution, GUM 4.3.7, about an end).
    """
    return Deflection(angle.deflection_deg, Budget.of([*angle.budget, (CAME_BACK, off_deg / sqrt(3))]))
