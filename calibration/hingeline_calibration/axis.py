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


def axis_from_sweep(sweep: Sequence[Gravity]) -> HingeAxis:
    """Direction of the hinge from gravity at several deflections.

    Parameters
    ----------
    sweep
        At least four positions over the surface's whole travel.

    Raises
    ------
    CalibrationError
        Too few positions, or a sweep of less than 5°.

    Notes
    -----
    Gravity sweeps a cone about the hinge, h·u = c: the direction of least spread of u. With noise σ and deflections φ
    about the middle of the sweep its standard deviations are σ/(√N std sin φ) in yaw and σ/(√N std cos φ) in
    elevation: the inverse spreads in the two other directions.
    """
    if len(sweep) < 4:
        raise CalibrationError(
            f"{len(sweep)} positions, expected at least 4", "Hold the surface at more positions"
        )
    ups = np.array([gravity.vector_g for gravity in sweep])
    _, spreads, directions = np.linalg.svd(ups - ups.mean(axis=0), full_matrices=False)
    widest_deg = _sweep_deg(ups)
    if widest_deg < _LEAST_SWEEP_DEG:
        raise CalibrationError(
            f"a sweep of {widest_deg:.1f}°, expected at least {_LEAST_SWEEP_DEG:g}°",
            "Move the surface over its whole travel",
        )
    h = directions[2] * (1.0 if directions[2][np.argmax(np.abs(directions[2]))] > 0 else -1.0)
    spread = directions[:2] * _noise_of(sweep, ups, h) / spreads[:2, None]
    yaw, elevation = across(h)
    return HingeAxis(
        direction=(float(h[0]), float(h[1]), float(h[2])),
        yaw_sd_deg=math.degrees(float(np.linalg.norm(spread @ yaw))),
        elevation_sd_deg=math.degrees(float(np.linalg.norm(spread @ elevation))),
    )


def find_axis(sweep: Sequence[Gravity], calibration: Calibration, laid_on: HingeAxis = LAID_ON) -> HingeAxis:
    """Direction of the hinge from a sweep and from how the carrier lies on the skin, each as far as it can bear.

    Parameters
    ----------
    sweep
        As for `axis_from_sweep`; the hinge may have any elevation.
    calibration
        Of the sensor: its error bends the cone of a short sweep more than noise does.
    laid_on
        What is known without a sweep.

    Raises
    ------
    CalibrationError
        As `axis_from_sweep`.

    Notes
    -----
    Yaw and elevation of the free cone and of the carrier are averaged with the inverse of their covariances as weights
    (best linear unbiased estimate). The least-squares axis moves by a_k along each singular direction d_k of the
    centred sweep, a_k = -Σ (d_k·u)(h·δu) / s_k²: by it the calibration's covariance enters.
    """
    cone = axis_from_sweep(sweep)
    h = np.array(cone.direction) * math.copysign(1.0, cone.direction[0])
    ups = np.array([gravity.vector_g for gravity in sweep])
    _, spreads, directions = np.linalg.svd(ups - ups.mean(axis=0), full_matrices=False)
    along = (ups - ups.mean(axis=0)) @ directions[:2].T / spreads[:2] ** 2
    by_error = -along.T @ np.array([h @ calibration.parameter_slope(gravity) for gravity in sweep])
    axes = np.array(across(h)) @ directions[:2].T
    by_noise = np.diag((_noise_of(sweep, ups, h) / spreads[:2]) ** 2)
    covariance = axes @ (by_noise + by_error @ calibration.covariance @ by_error.T) @ axes.T
    weight = np.linalg.inv(covariance)
    known = np.diag(np.radians([laid_on.yaw_sd_deg, laid_on.elevation_sd_deg]) ** -2.0)
    both = np.linalg.inv(weight + known)
    yaw, elevation = both @ (weight @ _angles(h) + known @ _angles(np.array(laid_on.direction)))
    yaw_sd, elevation_sd = np.degrees(np.sqrt(np.diag(both)))
    level = math.cos(elevation)
    return HingeAxis(
        (level * math.cos(yaw), level * math.sin(yaw), math.sin(elevation)),
        float(yaw_sd),
        float(elevation_sd),
    )


def _angles(h: Array) -> Array:
    """(2,) yaw and elevation of a direction, in rad."""
    return np.array([math.atan2(h[1], h[0]), math.asin(h[2])])


def _noise_of(sweep: Sequence[Gravity], ups: Array, h: Array) -> float:
    """Standard deviation along the axis: as seen in the sweep, at least as stated."""
    seen = float(np.sum(((ups - ups.mean(axis=0)) @ h) ** 2)) / (len(sweep) - 3)
    stated = float(np.mean([h @ gravity.covariance_g2 @ h for gravity in sweep]))
    return math.sqrt(max(seen, stated))


def _sweep_deg(ups: Array) -> float:
    units = ups / np.linalg.norm(ups, axis=1, keepdims=True)
    chord = max(float(np.linalg.norm(units - unit, axis=1).max()) for unit in units)
    return math.degrees(2 * math.asin(min(1.0, chord / 2)))
