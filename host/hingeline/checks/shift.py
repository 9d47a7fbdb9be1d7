"""A turn that both sides show alike: the model was moved, unless a servo pair centres alike badly."""

from __future__ import annotations

from collections.abc import Mapping
from math import copysign

from hingeline.units import Side
from hingeline_calibration.hinge import Deflection

LEAST_DEG = 0.2
"""Less than this is told by nobody's bench: common practice, no source."""
_NOISES = 4.0


def common_shift(before: Mapping[Side, Deflection], now: Mapping[Side, Deflection]) -> float | None:
    """How far left and right have turned alike from one reading to the next, in degrees.

    None where one of them is missing, they turned apart, or the turn is within noise or `LEAST_DEG`. The model's
    pitch turns both sides alike; one side that was adjusted turns alone.
    """
    if not {"left", "right"} <= set(before) & set(now):
        return None
    shifts = [now[side].deflection_deg - before[side].deflection_deg for side in ("left", "right")]
    smaller = min(map(abs, shifts))
    noise_deg = max(dict(angle.budget.items()).get("noise", 0.0) for angle in (*before.values(), *now.values()))
    if shifts[0] * shifts[1] <= 0 or smaller < max(LEAST_DEG, _NOISES * noise_deg):
        return None
    return copysign(smaller, shifts[0])
