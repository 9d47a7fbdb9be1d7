"""As good as the Cramér-Rao bound, computed from the physics of the bench and not from the estimator."""

from __future__ import annotations

import numpy as np

from hingeline_calibration.estimator import solve
from hingeline_calibration.priors import Priors

from . import simulate as sim
from .cramer_rao import BENCH_DEG, POSES, bound, of_one_truth, slopes, turn

BENCHES = 1000
TURN_DEG = 45.0


def test_every_parameter_and_tilt_is_within_1_10_of_the_bound() -> None:
    """1000 benches of one chip, 12 + 6 poses of 1 s, with new turns and new noise each."""
    rng = np.random.default_rng(10)
    benches, truth = of_one_truth(rng, "mpu6050", BENCHES)
    taken = sim.poses_of(benches, rng, sim.POSES[POSES], lean_scatter=0.0)
    counts_per_g = benches.chip.counts_per_g
    ends = np.array([sim.Z, sim.deflected(sim.X[None], sim.Z[None], np.array([TURN_DEG]))[0]])
    shown = ends @ truth[:9].reshape(3, 3).T + truth[9:]
    errors, tilts = [], []
    for row in taken:
        found = solve(row, counts_per_g, Priors(**BENCH_DEG), np.full(len(row), benches.repeat_g))
        matrix, bias = found.matrix_counts_per_g / counts_per_g, found.bias_counts / counts_per_g
        errors.append(np.concatenate([matrix.ravel(), bias]) - truth)
        tilts.append(np.degrees(turn(np.linalg.solve(matrix, (shown - bias).T).T)) - TURN_DEG)
    least = bound(truth, np.full(3, np.hypot(400e-6 / np.sqrt(2), benches.repeat_g)))
    slope, _ = slopes(turn, truth, shown)
    assert np.all(np.sqrt(np.mean(np.square(errors), axis=0)) <= 1.10 * np.sqrt(np.diag(least)))
    assert np.sqrt(np.mean(np.square(tilts))) <= 1.10 * np.degrees(np.sqrt(slope @ least @ slope))
