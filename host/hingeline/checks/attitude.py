"""How the model is rolled, and what that does to the neutrals of a swept surface.

A swept hinge turns with the roll: the left one by -sin Λ of it, the right one by +sin Λ, which looks as a mismatch of
twice that. How far both hinges lean along themselves shows the roll: dihedral leans them apart, the roll alike.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hingeline.measure.pipeline import Instrument
from hingeline.rig.kinds import BOTH
from hingeline.units import Side
from hingeline_calibration.budget import Budget
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection

ROLL = "model's roll"
"""The source of a budget."""
_SEAT_DEG = 0.2
"""Standard deviation of how far a hinge leans otherwise than its mirror image: common practice, no source."""


@dataclass(frozen=True)
class Roll:
    """The roll of the model, left wing up positive, and its standard deviation."""

    deg: float
    sd_deg: float


def find_roll(instruments: Sequence[Instrument], gravity: Mapping[Side, Gravity], sweep_deg: float) -> Roll | None:
    """The roll that the hinges of both sides show; None where there is but one side."""
    of_side = {each.side: each for each in instruments}
    if not set(BOTH) <= of_side.keys():
        return None
    leans_deg = [_lean_deg(of_side[side], gravity[side]) for side in BOTH]
    sds_deg = [math.hypot(of_side[side].hinge.elevation_sd_deg, _SEAT_DEG) for side in BOTH]
    across = 2 * math.cos(math.radians(sweep_deg))
    return Roll(sum(leans_deg) / across, math.hypot(*sds_deg) / across)


def without_roll(angles: Mapping[Side, Deflection], roll: Roll, sweep_deg: float) -> dict[Side, Deflection]:
    """Angles from the datum as they were with the model level in roll."""
    share = math.sin(math.radians(sweep_deg))
    signs = {"left": 1.0, "right": -1.0}
    return {
        side: Deflection(
            angle.deflection_deg + signs.get(side, 0.0) * share * roll.deg,
            # both sides err alike, and left minus right by twice that: each gets the root of two of its own
            Budget.of([*angle.budget.items(), (ROLL, math.sqrt(2) * abs(share) * roll.sd_deg)]),
        )
        for side, angle in angles.items()
    }


def roll_text(roll: Roll) -> str:
    """The roll in words."""
    wing = "left" if roll.deg > 0 else "right"
    return f"The model is rolled {abs(roll.deg):.1f}° ±{2 * roll.sd_deg:.1f}, {wing} wing up: taken into account"


def _lean_deg(instrument: Instrument, gravity: Gravity) -> float:
    """How far the hinge's left end is above level."""
    up = gravity.vector_g / np.linalg.norm(gravity.vector_g)
    return math.degrees(math.asin(float(np.clip(up @ np.array(instrument.hinge.direction), -1, 1))))
