"""How the model is rolled, and what that does to the neutrals of a swept surface. Formulas: calibration.attitude."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from hingeline.measure.pipeline import Instrument
from hingeline.rig.kinds import BOTH
from hingeline.units import Side
from hingeline_calibration import attitude
from hingeline_calibration.attitude import Roll
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection

ROLL = attitude.SOURCE
"""The source of a budget."""


def find_roll(instruments: Sequence[Instrument], gravity: Mapping[Side, Gravity], sweep_deg: float) -> Roll | None:
    """The roll that the hinges of both sides show; None where there is but one side."""
    of_side = {each.side: each for each in instruments}
    if not set(BOTH) <= of_side.keys():
        return None
    left, right = (attitude.Side(gravity[side], of_side[side].calibration, of_side[side].hinge) for side in BOTH)
    return attitude.roll_of(left, right, sweep_deg)


def without_roll(angles: Mapping[Side, Deflection], roll: Roll) -> dict[Side, Deflection]:
    """Angles from the datum as they were with the model level: each side has half of what the mismatch is off by."""
    shares = {"left": -0.5, "right": 0.5}
    return {
        side: Deflection(
            angle.deflection_deg + shares.get(side, 0.0) * roll.mismatch_deg,
            Budget.of([*angle.budget.items(), (ROLL, roll.mismatch_sd_deg / math.sqrt(2))]),
        )
        for side, angle in angles.items()
    }


def roll_text(roll: Roll) -> str:
    """The roll in words."""
    wing = "left" if roll.roll_deg > 0 else "right"
    reach_deg = COVERAGE_FACTOR * roll.roll_sd_deg
    return f"The model is rolled {abs(roll.roll_deg):.1f}° ±{reach_deg:.1f}, {wing} wing up: taken into account"
