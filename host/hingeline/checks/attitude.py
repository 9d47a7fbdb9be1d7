"""How the model is rolled, by both sides of a swept surface. Formulas: calibration.attitude."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from hingeline.measure.pipeline import Instrument
from hingeline.rig.kinds import BOTH
from hingeline.units import Side
from hingeline_calibration import attitude
from hingeline_calibration.attitude import Roll
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.gravity import Gravity

ROLL = attitude.SOURCE
"""The source of a budget."""


def find_roll(instruments: Sequence[Instrument], gravity: Mapping[Side, Gravity], sweep_deg: float) -> Roll | None:
    """The roll that the hinges of both sides show; None where there is but one side."""
    of_side = {each.side: each for each in instruments}
    if not set(BOTH) <= of_side.keys():
        return None
    left, right = (attitude.Side(gravity[side], of_side[side].calibration, of_side[side].hinge) for side in BOTH)
    return attitude.roll_of(left, right, sweep_deg)


def roll_text(roll: Roll) -> str:
    """The roll in words."""
    wing = "left" if roll.roll_deg > 0 else "right"
    reach_deg = COVERAGE_FACTOR * roll.roll_sd_deg
    return f"The model is rolled {abs(roll.roll_deg):.1f}° ±{reach_deg:.1f}, {wing} wing up: taken into account"
