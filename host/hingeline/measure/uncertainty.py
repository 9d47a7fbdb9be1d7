"""What a calibration found and leaves uncertain, and an uncertainty budget in words: what decides, what to do."""

from __future__ import annotations

import math

import numpy as np

from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, deflection

CURES = {
    "noise": "hold it still for longer",
    "calibration noise": "calibrate again and let each rest last longer",
    "table": "calibrate again at further turns: --turns 4",
    "carrier": "calibrate again with leaned rests: --leaned 6",
    "temperature": "warm up and redo the datum",
    "hinge axis": "find the hinge: `hingeline hinge`",
    "datum": "take the datum turned end for end: `hingeline datum --reversal`",
    "table level": "take the datum turned end for end: `hingeline datum --reversal`",
    "chord": "measure the chord again",
    "datum closure": "take datum and reading again",
}
"""By source, what makes it less."""
GOOD_DEG = 0.1
"""So well a calibration alone serves every tolerance of the sheet's profiles: common practice, no source."""
TELLING = 1 / 3
"""Of the greatest source: lesser ones are not named. Common practice, no source."""
SHARE = 1 / 3
"""Of a tolerance: an uncertainty below it decides nothing. Common practice, no source."""


def telling(budget: Budget, tolerance: float) -> bool:
    """Return whether the 95 % uncertainty takes more than a third of a tolerance, both in one unit."""
    return COVERAGE_FACTOR * budget.standard_uncertainty > SHARE * tolerance


def budget_text(budget: Budget, unit: str = "°", *, enough: float = 0.0) -> str:
    """Return the sources that matter with their standard uncertainties, and the cure of the greatest.

    Where the 95 % uncertainty is at most `enough`, nothing is to be cured.
    """
    rows = budget.rows
    if not rows:
        return "nothing is left to chance"
    named = [row for row in rows if row.standard_uncertainty >= TELLING * rows[0].standard_uncertainty]
    sources = ", ".join(f"{row.source} {row.standard_uncertainty:.3f}{unit}" for row in named)
    cure = CURES.get(rows[0].source)
    wanted = cure and COVERAGE_FACTOR * budget.standard_uncertainty > enough
    return f"{sources}: {cure}" if wanted else sources


def telling_budget(calibration: Calibration) -> Budget:
    """Return what a calibration alone leaves uncertain of a deflection by 45° from level."""
    ends = [
        Gravity(
            np.array([0.0, math.sin(turn), math.cos(turn)]),
            np.zeros((3, 3)),
            calibration.temperature_c,
            0.0,
            0.0,
        )
        for turn in (0.0, math.pi / 4)
    ]
    return deflection(ends[0], ends[1], calibration, HingeAxis(yaw_sd_deg=0.0, elevation_sd_deg=0.0)).budget


def table_tilt_deg(calibration: Calibration) -> float | None:
    """Return the tilt of the table on which it was made; None where no face was laid at two yaws."""
    turned = {face for face, yaw_deg in calibration.poses if face and yaw_deg}
    tilts = [math.hypot(*calibration.table_tilt_deg[face][:2]) for face in sorted(turned)]
    return float(np.median(tilts)) if tilts else None


def worst_square(calibration: Calibration) -> tuple[str, float, float]:
    """Return the face of the carrier that is most out of square, by how much, and the standard deviation of that."""
    off_deg = {face: math.hypot(*values[:2]) for face, values in calibration.squareness_deg.items()}
    face = max(off_deg, key=lambda name: off_deg[name])
    return face, off_deg[face], max(calibration.squareness_deg[face][2:])
