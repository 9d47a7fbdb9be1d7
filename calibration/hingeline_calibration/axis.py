"""The hinge axis in the carrier frame, from a sweep of the surface."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, across

_LEAST_SWEEP_DEG = 5.0


def axis_from_sweep(sweep: Sequence[Gravity], *, level_hinge: bool) -> HingeAxis:
    """Direction of the hinge from gravity at several deflections.

    Parameters
    ----------
    sweep
        At least four positions over the surface's whole travel.
    level_hinge
        The hinge is known to be level: gravity sweeps a plane through the origin. Else it sweeps a cone, which tells
        the elevation much more weakly.

    Raises
    ------
    CalibrationError
        Too few positions, or a sweep of less than 5°.

    Notes
    -----
    h·u = c, c = 0 for a level hinge: the direction of least spread of u. With noise σ and deflections φ about the
    middle of the sweep its standard deviations are σ/(√N std sin φ) in yaw and σ/(√N std cos φ) in elevation, rms
    instead of std for a level hinge: the inverse spreads in the two other directions.
    """
    if len(sweep) < 4:
        raise CalibrationError(
            f"{len(sweep)} positions, expected at least 4", "Hold the surface at more positions"
        )
    ups = np.array([gravity.vector_g for gravity in sweep])
    centred = ups if level_hinge else ups - ups.mean(axis=0)
    _, spreads, directions = np.linalg.svd(centred, full_matrices=False)
    widest_deg = _sweep_deg(ups)
    if widest_deg < _LEAST_SWEEP_DEG:
        raise CalibrationError(
            f"a sweep of {widest_deg:.1f}°, expected at least {_LEAST_SWEEP_DEG:g}°",
            "Move the surface over its whole travel",
        )
    h = directions[2] * (1.0 if directions[2][np.argmax(np.abs(directions[2]))] > 0 else -1.0)
    freedom = len(sweep) - (2 if level_hinge else 3)
    seen = spreads[2] ** 2 / freedom
    stated = float(np.mean([h @ gravity.covariance_g2 @ h for gravity in sweep]))
    spread = directions[:2] * np.sqrt(max(seen, stated)) / spreads[:2, None]
    yaw, elevation = across(h)
    return HingeAxis(
        direction=(float(h[0]), float(h[1]), float(h[2])),
        yaw_sd_deg=math.degrees(float(np.linalg.norm(spread @ yaw))),
        elevation_sd_deg=math.degrees(float(np.linalg.norm(spread @ elevation))),
    )


def _sweep_deg(ups: Array) -> float:
    units = ups / np.linalg.norm(ups, axis=1, keepdims=True)
    chord = max(float(np.linalg.norm(units - unit, axis=1).max()) for unit in units)
    return math.degrees(2 * math.asin(min(1.0, chord / 2)))
