"""Whether a calibration may be used: against the chip's datasheet, its own noise, and orientations it never saw."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hingeline_calibration.calibration import Calibration
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.errors import PoorCalibration
from hingeline_calibration.poses import FACE_WORDS
from hingeline_calibration.still import Reading

MARGIN = 1.5
"""Times the datasheet's limits: soldering stress and clones go beyond them. Common practice, no source."""
_SIGMAS = 4.0
_MODEL_MG = 0.5
"""How far |gravity| of a good chip is off by its non-linearity alone. Common practice, no source."""


def judge(calibration: Calibration) -> tuple[str, ...]:
    """What speaks against a calibration, by its chip's datasheet and its own noise; each reason a sentence part."""
    return (*_parameters(calibration), *_residual(calibration), *unlike_faces(calibration).values())


def check_fresh(calibration: Calibration, readings: Sequence[Reading]) -> tuple[str, ...]:
    """What speaks against a calibration in orientations that it was not fitted to, where |gravity| must be 1 g, too."""
    reasons = []
    for index, reading in enumerate(readings):
        off_mg, limit_mg = off_length_mg(calibration, reading)
        if abs(off_mg) > limit_mg:
            reasons.append(
                f"fresh orientation {index + 1}: |gravity| is off by {off_mg:+.2f} mg, "
                f"expected within {limit_mg:.2f} mg"
            )
    return tuple(reasons)


def refuse_poor(reasons: tuple[str, ...]) -> None:
    """Raise `PoorCalibration` where any reason speaks against a calibration."""
    if reasons:
        raise PoorCalibration(
            f"a poor calibration: {'; '.join(reasons)}",
            "Calibrate again; if it stays so, change the chip, or keep it marked as poor with --accept",
            reasons,
        )


def off_length_mg(calibration: Calibration, reading: Reading) -> tuple[float, float]:
    """By how much |gravity| is over 1 g, and how far off it is at most while the calibration holds, both in mg."""
    gravity = calibration.gravity(reading)
    length = float(np.linalg.norm(gravity.vector_g))
    along = gravity.vector_g / length
    errors = along @ calibration.errors_g(gravity)
    variance = errors @ errors + along @ gravity.covariance_g2 @ along + calibration.repeat.variance_g2
    return 1e3 * (length - 1), 1e3 * _SIGMAS * float(np.sqrt(variance)) + _MODEL_MG


def _parameters(calibration: Calibration) -> list[str]:
    facts = chip_facts(calibration.chip)
    relative = calibration.matrix_counts_per_g / calibration.counts_per_g
    reasons = []
    for i, axis in enumerate("xyz"):
        strongest = int(np.argmax(np.abs(relative[i])))
        if strongest != i:
            reasons.append(f"axis {axis} of the chip answers to {'xyz'[strongest]} of the carrier: swapped axes")
            continue
        parameters = {
            "scale": (100 * (relative[i, i] - 1), facts.scale_percent, "%"),
            "offset": (
                1e3 * calibration.bias_counts[i] / calibration.counts_per_g,
                facts.offset_mg[i],
                " mg",
            ),
            "cross-axis": (
                100 * np.abs(np.delete(relative[i], i)).max(),
                facts.cross_axis_percent + _TURNED_PERCENT,
                "%",
            ),
        }
        reasons += [
            f"{name} of axis {axis} is {value:+.1f}{unit}, expected within ±{MARGIN * limit:g}{unit}"
            for name, (value, limit, unit) in parameters.items()
            if abs(value) > MARGIN * limit
        ]
    return reasons


_TURNED_PERCENT = 5.0
"""A chip glued into its carrier 3° askew."""


def _residual(calibration: Calibration) -> list[str]:
    limit_mg = 3 * calibration.noise_mg + _MODEL_MG
    if calibration.residual_mg <= limit_mg:
        return []
    return [f"|gravity| of the poses is off by {calibration.residual_mg:.2f} mg, expected within {limit_mg:.2f} mg"]


def unlike_faces(calibration: Calibration) -> dict[str, str]:
    """By face laid at two yaws or more that shows another tilt of the table than the others, what speaks against it."""
    tilts = {
        face: (float(np.hypot(*values[:2])), float(max(values[2:])))
        for face, values in calibration.table_tilt_deg.items()
        if len({yaw for name, yaw in calibration.poses if name == face}) > 1
    }
    if len(tilts) < 3:
        return {}
    middle = float(np.median([size for size, _ in tilts.values()]))
    return {
        face: f"the table's tilt is {size:.2f}° with {FACE_WORDS[face]}, {middle:.2f}° in the other poses: "
        "not turned on its spot"
        for face, (size, deviation) in tilts.items()
        if abs(size - middle) > 5 * deviation + 0.1 * middle
    }
