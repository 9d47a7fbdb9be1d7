"""Six static poses of a real sensor, from the example session of `imucal` (MIT, version 2.6.0).

The session has lines of raw counts and marks its static sections. Their means, POSES, are computed for this check.
SCALE and BIAS are what `imucal` makes of them with g = 9.81 m/s² (test_imucal.py asks it). PLAIN_BIAS, the residuals
and the Monte Carlo figures are computed for this check and printed nowhere.
"""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.estimator import solve
from hingeline_calibration.fit import calibrate
from hingeline_calibration.poses import FACES, TakenPose, face_axes, face_up, from_pairs
from hingeline_calibration.priors import Priors
from hingeline_calibration.still import Reading

POSES = {
    "+x": (2039.6352, -62.713, 13.9368),
    "-x": (-2051.673, -30.2799, -76.0038),
    "+y": (8.9441, 1991.5681, -55.8106),
    "-y": (-20.1969, -2088.1439, -10.375),
    "+z": (-34.7787, -24.79, 2077.4677),
    "-z": (10.8257, -121.3008, -2135.4004),
}
GRAVITY_M_S2 = 9.81
SCALE = (208.545673, 208.001134, 214.784554)
"""Counts per m/s²."""
BIAS = (-6.018868, -48.287874, -28.966366)
"""Counts."""
PLAIN_BIAS = (-7.8739, -55.9432, -31.0309)
"""Bias of the plain 12-parameter least squares on the same poses."""
COUNTS_PER_G = 2048
NOISE_COUNTS = 0.3
"""Of a 1 s reading of such a sensor."""


def pose(face: str, counts: object, index: int, noise_counts: float = NOISE_COUNTS) -> TakenPose:
    return TakenPose(
        Reading(np.array(counts, float), np.eye(3) * noise_counts**2, 25.0, 1.0, 50, 10.0 * index), face, 0.0
    )


def residual_mg(matrix: object, bias: object) -> float:
    gravity = np.linalg.solve(np.array(matrix), (np.array(list(POSES.values())) - np.array(bias)).T)
    return float(np.sqrt(np.mean((np.linalg.norm(gravity, axis=0) - 1) ** 2))) * 1e3


def test_pairs_give_the_scale_and_bias_of_imucal() -> None:
    # The poses stand here to 1e-4 counts, which is 3e-6 counts per m/s² and 7e-5 counts of the results.
    matrix, bias = from_pairs(POSES)
    assert np.linalg.norm(matrix, axis=1) / GRAVITY_M_S2 == pytest.approx(SCALE, abs=5e-6)
    assert bias == pytest.approx(BIAS, abs=1e-4)


def test_residual_of_gravity_is_a_fifteenth_of_a_milli_g() -> None:
    matrix, bias = from_pairs(POSES)
    assert residual_mg(matrix, bias) == pytest.approx(0.067, abs=0.0005)


def test_plain_least_squares_is_the_worse_one() -> None:
    """By the normal equations of all twelve parameters: its bias is off, its residual is 2.31 mg."""
    design = np.array([[*face_up(face), 1.0] for face in FACES])
    solved = np.linalg.lstsq(design, np.array([POSES[face] for face in FACES]), rcond=None)[0]
    assert solved[3] == pytest.approx(PLAIN_BIAS, abs=1e-4)
    assert residual_mg(solved[:3].T, solved[3]) == pytest.approx(2.31, abs=0.005)


def test_the_estimator_agrees_within_its_uncertainty() -> None:
    matrix, bias = from_pairs(POSES)
    taken = [pose(face, counts, index) for index, (face, counts) in enumerate(POSES.items())]
    found = calibrate(
        taken,
        sensor_id="a-0",
        chip="mpu6050",
        counts_per_g=COUNTS_PER_G,
        date="2026-03-01",
        tool_version="0.1.0",
    )
    deviations = np.sqrt(np.diag(found.covariance))
    assert np.all(np.abs(found.matrix_counts_per_g - matrix).ravel() < deviations[:9])
    assert np.all(np.abs(found.bias_counts - bias) < deviations[9:])
    assert found.residual_mg < 0.067


def bias_errors_mg(scatter_deg: float, cross_axis: float) -> tuple[float, float, float]:
    """Rms bias error, no noise, of plain least squares, of each axis's own pair and of the estimator."""
    rng = np.random.default_rng(1)
    errors = []
    for _ in range(200):
        matrix = np.eye(3) + cross_axis * rng.uniform(-1, 1, (3, 3)) * (1 - np.eye(3))
        turns = np.radians(scatter_deg) * rng.standard_normal((6, 2))
        ups = np.array([face_up(face) + face_axes(face) @ turn for face, turn in zip(FACES, turns, strict=True)])
        ups /= np.linalg.norm(ups, axis=1, keepdims=True)
        counts = COUNTS_PER_G * ups @ matrix.T
        taken = [pose(face, row, index, 0.02) for index, (face, row) in enumerate(zip(FACES, counts, strict=True))]
        pairs = from_pairs(dict(zip(FACES, counts, strict=True)))[1]
        errors.append((counts.mean(axis=0), pairs, solve(taken, COUNTS_PER_G, Priors()).bias_counts))
    plain, pairs, estimator = 1e3 / COUNTS_PER_G * np.sqrt(np.mean(np.square(errors), axis=(0, 2)))
    return plain, pairs, estimator


def test_bias_is_as_insensitive_to_placement_as_each_axis_own_pair() -> None:
    """Monte Carlo, 0.3° pose scatter: 1.7 mg by plain least squares, 0.02 mg by each axis's own pair.

    The estimator's error is of second order as well: half the scatter, a quarter of the error.
    """
    plain, pairs, estimator = bias_errors_mg(0.3, 0.0)
    assert plain == pytest.approx(1.7, abs=0.1)
    assert pairs == pytest.approx(0.02, abs=0.002)
    assert estimator < 0.03
    assert bias_errors_mg(0.15, 0.0)[2] == pytest.approx(estimator / 4, rel=0.05)


def test_with_cross_axis_sensitivity_the_estimator_beats_the_pairs() -> None:
    """2 % of an MPU-6050: a tilted pair reads other axes too, which only the full matrix takes out."""
    plain, pairs, estimator = bias_errors_mg(0.3, 0.02)
    assert estimator < 0.75 * pairs < 0.05 * plain
