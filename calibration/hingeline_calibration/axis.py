"""The hinge axis in the carrier frame, from a sweep of the surface."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis
from hingeline_calibration.noise import correlation_length

_LEAST_SWEEP_DEG = 5.0
LAID_ON = HingeAxis(yaw_sd_deg=30.0, elevation_sd_deg=2.0)
"""A carrier taped on with any yaw, its base on the skin: the sweep decides the yaw, and the elevation where it tells it
better than the skin does. Common practice, no source."""
_STEPS = 40
_SETTLED_RAD = 1e-6


def find_axis(sweep: Sequence[Gravity], calibration: Calibration, laid_on: HingeAxis = LAID_ON) -> HingeAxis:
    """Direction of the hinge from a sweep and from how the carrier lies on the skin, each as far as it can bear.

    The sweep is gravity at four positions or more over the surface's whole travel, in the order of time; the hinge may
    have any elevation. A carrier whose arrow points forward has the same hinge: the direction is the one along +x.

    Raises
    ------
    CalibrationError
        Too few positions, or a sweep of less than 5°.

    Notes
    -----
    Gravity sweeps a cone about the hinge: h·u = c. Yaw and elevation of h, c and the calibration's independent errors z
    are found together, by weighted least squares with the priors of the carrier on its skin and of z (maximum a
    posteriori). A short sweep's cone is bent by the calibration more than by noise, so z has to be among the unknowns.
    The noise of u itself would make the cone look more open than it is: its part is taken out of the score and out of
    the information (errors in variables; Stefanski 1985, corrected score, from memory). Alone, with noise σ and
    deflections φ about the middle, the standard deviations are σ/(√N std sin φ) in yaw, σ/(√N std cos φ) in elevation.
    """
    ups = np.array([gravity.vector_g for gravity in sweep])
    _refuse_short(ups)
    covariance = np.mean([gravity.covariance_g2 for gravity in sweep], axis=0)
    cone = _Cone(ups, covariance, calibration, laid_on)
    angles, spread, length = cone.start(), 1.0, 1.0
    for _ in range(_STEPS):
        step, information, misses = cone.step(angles, spread, max(1.0, spread * length))
        angles = angles + step
        spread, length = float(misses @ misses) / max(misses.size - 3, 1), correlation_length(misses)
        if np.abs(step).max() < _SETTLED_RAD:
            break
    return cone.axis(angles, information, max(1.0, spread * length))


@dataclass(frozen=True, eq=False)
class _Cone:
    """The equations h·u = c of a sweep (N, 3), about a yaw and an elevation in rad."""

    ups: Array
    covariance: Array
    calibration: Calibration
    laid_on: HingeAxis

    def start(self) -> Array:
        """The yaw of least spread in the carrier's base, and the elevation of the skin."""
        spread = np.cov(self.ups[:, :2].T)
        yaw = 0.5 * math.atan2(-2 * spread[0, 1], spread[1, 1] - spread[0, 0])
        return np.array([yaw, _angles(np.array(self.laid_on.direction))[1]])

    def step(self, angles: Array, spread: float, scale: float) -> tuple[Array, Array, Array]:
        """The next step (2,), the information (2, 2), and the misses (N,) of h·u = c in stated standard deviations.

        The variance of a position is `spread` times the one stated; it counts as `scale` times, where it is correlated
        in time.
        """
        h, slopes, sigma = _direction(angles), _slopes(angles), self._sigma(angles, scale)
        rows = self.ups @ slopes.T / sigma
        both = self._fitted(angles, sigma, np.concatenate([self.ups @ h[:, None] / sigma, rows], axis=1))
        fitted, projected = both[:, 0], both[:, 1:]
        by_noise = len(self.ups) * spread / sigma**2 * slopes @ self.covariance
        prior = np.diag(np.radians([self.laid_on.yaw_sd_deg, self.laid_on.elevation_sd_deg]) ** -2.0)
        score = rows.T @ fitted - by_noise @ h + prior @ (angles - _angles(np.array(self.laid_on.direction)))
        metric = rows.T @ projected
        signal, directions = np.linalg.eigh(metric - by_noise @ slopes.T)
        information = directions * np.maximum(signal, 0.0) @ directions.T + prior
        return -np.linalg.solve(metric + prior, score), information, fitted * math.sqrt(scale)

    def axis(self, angles: Array, information: Array, scale: float) -> HingeAxis:
        """The axis at the solution: how far it is known, and how the calibration's error moves it."""
        sigma, h = self._sigma(angles, scale), _direction(angles)
        covariance = np.linalg.inv(information)
        rows = self.ups @ _slopes(angles).T / sigma
        by_calibration = -covariance @ self._fitted(angles, sigma, rows).T @ self._by_error(h) / sigma
        own, directions = np.linalg.eigh(covariance - by_calibration @ self.calibration.covariance @ by_calibration.T)
        alone = _deviations(directions * np.maximum(own, 0.0) @ directions.T)
        yaw_deg, elevation_deg, _ = _deviations(covariance)
        direction = (float(h[0]), float(h[1]), float(h[2]))
        return HingeAxis(direction, yaw_deg, elevation_deg, alone, tuple(map(tuple, by_calibration.tolist())))

    def _sigma(self, angles: Array, scale: float) -> float:
        h = _direction(angles)
        return math.sqrt(scale * float(h @ self.covariance @ h))

    def _by_error(self, h: Array) -> Array:
        """(N, 12) change of h·u for a change of the calibration's (S row by row, b)."""
        w = h @ self.calibration.inverse_g_per_count
        by_matrix = (self.ups[:, None, :] * w[:, None]).reshape(-1, 9)
        return -np.concatenate([by_matrix, np.tile(w, (len(self.ups), 1))], axis=1)

    def _fitted(self, angles: Array, sigma: float, values: Array) -> Array:
        """Values (N, K) less what an opening of the cone and errors of the calibration explain of them."""
        errors = self._by_error(_direction(angles)) @ self.calibration.root_covariance
        rest = np.concatenate([np.ones((len(errors), 1)), errors], axis=1) / sigma
        known = np.diag([0.0] + [1.0] * errors.shape[1])
        return np.asarray(values - rest @ np.linalg.solve(rest.T @ rest + known, rest.T @ values))


def _deviations(covariance: Array) -> tuple[float, float, float]:
    """Standard deviations of yaw and elevation, in degrees, and their correlation, of a covariance (2, 2) in rad²."""
    yaw, elevation = np.sqrt(np.diag(covariance)).tolist()
    correlation = float(covariance[0, 1]) / (yaw * elevation) if yaw * elevation > 0 else 0.0
    return math.degrees(yaw), math.degrees(elevation), min(1.0, max(-1.0, correlation))


def _direction(angles: Array) -> Array:
    """(3,) unit direction of a yaw and an elevation."""
    yaw, elevation = angles
    level = math.cos(elevation)
    return np.array([level * math.cos(yaw), level * math.sin(yaw), math.sin(elevation)])


def _slopes(angles: Array) -> Array:
    """(2, 3) change of the direction by yaw and by elevation."""
    (cos_yaw, cos_up), (sin_yaw, sin_up) = np.cos(angles), np.sin(angles)
    return np.array([[-cos_up * sin_yaw, cos_up * cos_yaw, 0.0], [-sin_up * cos_yaw, -sin_up * sin_yaw, cos_up]])


def _angles(h: Array) -> Array:
    """(2,) yaw and elevation of a direction, in rad."""
    return np.array([math.atan2(h[1], h[0]), math.asin(h[2])])


def _refuse_short(ups: Array) -> None:
    if len(ups) < 4:
        raise CalibrationError(f"{len(ups)} positions, expected at least 4", "Hold the surface at more positions")
    units = ups / np.linalg.norm(ups, axis=1, keepdims=True)
    some = units[:: 1 + len(units) // 500]
    swept_deg = math.degrees(math.acos(min(1.0, float((some @ some.T).min()))))
    if swept_deg < _LEAST_SWEEP_DEG:
        raise CalibrationError(
            f"a sweep of {swept_deg:.1f}°, expected at least {_LEAST_SWEEP_DEG:g}°",
            "Move the surface over its whole travel",
        )
