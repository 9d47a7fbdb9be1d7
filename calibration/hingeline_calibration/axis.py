"""The hinge axis in the carrier frame, from a sweep of the surface."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, across

_LEAST_SWEEP_DEG = 5.0
LAID_ON = HingeAxis(yaw_sd_deg=30.0, elevation_sd_deg=2.0)
"""A carrier taped on with any yaw, its base on the skin: the sweep decides the yaw, and the elevation where it tells it
better than the skin does. Common practice, no source."""


def find_axis(sweep: Sequence[Gravity], calibration: Calibration, laid_on: HingeAxis = LAID_ON) -> HingeAxis:
    """Direction of the hinge from a sweep and from how the carrier lies on the skin, each as far as it can bear.

    The sweep is gravity at four positions or more over the surface's whole travel; the hinge may have any elevation.
    The calibration's error bends the cone of a short sweep more than noise does.

    Raises
    ------
    CalibrationError
        Too few positions, or a sweep of less than 5°.

    Notes
    -----
    Gravity sweeps a cone about the hinge, h·u = c: the direction of least spread of u. With noise σ and deflections φ
    about the middle of the sweep its standard deviations are σ/(√N std sin φ) in yaw and σ/(√N std cos φ) in
    elevation: the inverse spreads s_k in the two other singular directions d_k. Along them it moves by
    a_k = -Σ (d_k·u)(h·δu) / s_k²: by it the calibration's covariance enters. Yaw and elevation of the cone and of the
    carrier are averaged with the inverse of their covariances as weights (best linear unbiased estimate).
    """
    ups = np.array([gravity.vector_g for gravity in sweep])
    _refuse_short(ups)
    centred = ups - ups.mean(axis=0)
    _, spreads, directions = np.linalg.svd(centred, full_matrices=False)
    h = directions[2] * math.copysign(1.0, directions[2][0])
    along = centred @ directions[:2].T / spreads[:2] ** 2
    by_error = -along.T @ np.array([h @ calibration.parameter_slope(gravity) for gravity in sweep])
    axes = np.array(across(h)) @ directions[:2].T
    by_noise = np.diag((_noise_of(sweep, centred, h) / spreads[:2]) ** 2)
    covariance = axes @ (by_noise + by_error @ calibration.covariance @ by_error.T) @ axes.T
    weight = np.linalg.inv(covariance)
    known = np.diag(np.radians([laid_on.yaw_sd_deg, laid_on.elevation_sd_deg]) ** -2.0)
    both = np.linalg.inv(weight + known)
    yaw, elevation = both @ (weight @ _angles(h) + known @ _angles(np.array(laid_on.direction)))
    yaw_sd, elevation_sd = np.degrees(np.sqrt(np.diag(both)))
    level = math.cos(elevation)
    direction = (level * math.cos(yaw), level * math.sin(yaw), math.sin(elevation))
    return HingeAxis(direction, float(yaw_sd), float(elevation_sd))


def _angles(h: Array) -> Array:
    """(2,) yaw and elevation of a direction, in rad."""
    return np.array([math.atan2(h[1], h[0]), math.asin(h[2])])


def _noise_of(sweep: Sequence[Gravity], centred: Array, h: Array) -> float:
    """Standard deviation along the axis: as the sweep shows it, at least as stated."""
    shown = float(np.sum((centred @ h) ** 2)) / (len(sweep) - 3)
    stated = float(np.mean([h @ gravity.covariance_g2 @ h for gravity in sweep]))
    return math.sqrt(max(shown, stated))


def _refuse_short(ups: Array) -> None:
    if len(ups) < 4:
        raise CalibrationError(f"{len(ups)} positions, expected at least 4", "Hold the surface at more positions")
    units = ups / np.linalg.norm(ups, axis=1, keepdims=True)
    chord = max(float(np.linalg.norm(units - unit, axis=1).max()) for unit in units)
    swept_deg = math.degrees(2 * math.asin(min(1.0, chord / 2)))
    if swept_deg < _LEAST_SWEEP_DEG:
        raise CalibrationError(
            f"a sweep of {swept_deg:.1f}°, expected at least {_LEAST_SWEEP_DEG:g}°",
            "Move the surface over its whole travel",
        )
