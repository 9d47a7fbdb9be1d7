"""What a calibration found and leaves uncertain, and an uncertainty budget in words: what limits, what to do."""

from __future__ import annotations

import math

import numpy as np

from hingeline.units import amount
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, deflection

SOURCES = {
    "noise": ("noise", "hold it still for longer"),
    "calibration noise": ("the calibration's noise", "calibrate again and let each pose last longer"),
    "table": ("the calibration's table", "calibrate again at further turns: --turns 4"),
    "carrier": ("the carrier out of square", "calibrate again with leaned poses: --leaned 6"),
    "chip": ("what the chip repeats to", "warm up and calibrate again; if it stays so, use a better chip"),
    "temperature": ("temperature", "warm up and redo the datum"),
    "hinge axis": ("the sensor's edge", "find the hinge: `hingeline hinge`"),
    "datum": (
        "how the sensors lay for the datum",
        "take it turned end for end: `hingeline datum --reversal`",
    ),
    "table level": ("the flat off level", "take the datum turned end for end: `hingeline datum --reversal`"),
    "chord": ("your chord", ""),
    "model's roll": ("the model's roll", "find the hinge: `hingeline hinge`, and level the wings"),
    "came back off": ("how it came back to neutral", "press the sensor on, look for play, then measure again"),
    "datum closure": ("drift since the datum", "take datum and reading again"),
}
"""By source of a budget: what it is called, and what makes it less."""
GOOD_DEG = 0.1
"""A calibration this accurate serves every tolerance of the sheet's profiles: common practice, no source."""
TELLING = 1 / 3
"""Of the greatest source: lesser ones are not named. Common practice, no source."""
SHARE = 1 / 3
"""Of a tolerance: an uncertainty below it decides nothing. Common practice, no source."""


def telling(budget: Budget, tolerance: float) -> bool:
    """Whether the 95 % uncertainty takes more than `SHARE` of a tolerance, both in one unit."""
    return COVERAGE_FACTOR * budget.standard_uncertainty > SHARE * tolerance


def limits_text(budget: Budget, unit: str = "deg", *, enough: float = 0.0) -> str:
    """What limits a number: the sources that matter, each ± at 95 %, and the cure of the greatest.

    The unit is the budget's. Where all sources together are at most `enough` at 95 %, nothing is to be cured.
    """
    if not budget.rows:
        return "limited by nothing"
    least = TELLING * budget.rows[0].standard_uncertainty
    sources = ", ".join(
        f"{SOURCES.get(row.source, (row.source,))[0]}: ±{amount(COVERAGE_FACTOR * row.standard_uncertainty, unit)}"
        for row in budget
        if row.standard_uncertainty >= least
    )
    cure = SOURCES.get(budget.rows[0].source, ("", ""))[1]
    curable = cure and COVERAGE_FACTOR * budget.standard_uncertainty > enough
    return f"limited by {sources}" + (f"; {cure}" if curable else "")


def telling_budget(calibration: Calibration) -> Budget:
    """What a calibration alone leaves uncertain of a deflection by 45° from level, in degrees."""
    level, turned = (
        Gravity(np.array([0.0, math.sin(turn), math.cos(turn)]), np.zeros((3, 3)), calibration.temperature_c, 0, 0)
        for turn in (0.0, math.pi / 4)
    )
    return deflection(level, turned, calibration, HingeAxis(yaw_sd_deg=0.0, elevation_sd_deg=0.0)).budget


def table_tilt_deg(calibration: Calibration) -> float | None:
    """Tilt of the table on which it was made; None where no face was laid at two yaws."""
    turned = {face for face, yaw_deg in calibration.poses if face and yaw_deg}
    tilts = [math.hypot(*calibration.table_tilt_deg[face][:2]) for face in sorted(turned)]
    return float(np.median(tilts)) if tilts else None


def worst_square(calibration: Calibration) -> tuple[str, float, float]:
    """The face of the carrier that is most out of square, by how many degrees, and the standard deviation of that."""
    off_deg = {face: math.hypot(*values[:2]) for face, values in calibration.squareness_deg.items()}
    face = max(off_deg, key=lambda name: off_deg[name])
    return face, off_deg[face], max(calibration.squareness_deg[face][2:])
