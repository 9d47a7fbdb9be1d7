"""As good as the Cramér-Rao bound, computed from the physics of the bench and not from the estimator."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.spatial.transform import Rotation

from hingeline_calibration.arrays import Array
from hingeline_calibration.estimator import solve
from hingeline_calibration.hinge import angle_about
from hingeline_calibration.placements import face_axes, face_up
from hingeline_calibration.priors import Priors

from . import simulate as sim

PRIORS = Priors(squareness_deg=0.2, table_tilt_deg=0.25, scatter_deg=0.02, flatness_deg=0.0166)
LAYING_RAD = np.radians(np.hypot(0.02, 0.0166))
BENCHES = 1000
TURN_DEG = 45.0


def responses(theta: Array, nuisance: dict[str, Array]) -> Array:
    """(3K,) what the chip shows, in g, from S and b (12) and small turns of faces, table, each laying and each lean."""
    matrix, offset = theta[:9].reshape(3, 3), theta[9:]
    shown = []
    for index, (face, how) in enumerate(sim.POSES["12+6"]):
        if face is None:
            up = np.array(how) / np.linalg.norm(how)
            up = up + nuisance["laying"][index] @ np.linalg.svd(up[None])[2][1:]
        else:
            number, yaw = sim.FACES.index(face), np.radians(how)
            table = Rotation.from_euler("z", -yaw).as_matrix()[:2, :2] @ nuisance["tilt"][number]
            turn = nuisance["square"][number] + table + nuisance["laying"][index]
            up = face_up(face) + face_axes(face) @ turn
        shown.append(matrix @ up / np.linalg.norm(up) + offset)
    return np.concatenate(shown)


def bound(matrix: Array, offset: Array, noise_g: float) -> Array:
    """(12, 12) Cramér-Rao bound of S and b with random turns of known standard deviations (van Trees' bound)."""
    poses = sim.POSES["12+6"]
    sizes = {"square": (6, 2), "tilt": (6, 2), "laying": (len(poses), 2)}
    deviations = np.concatenate(
        [
            np.full(12, np.inf),
            np.full(12, np.radians(0.2)),
            np.full(12, np.radians(0.25)),
            np.repeat([np.inf if face is None else LAYING_RAD for face, _ in poses], 2),
        ]
    )

    def shown(unknowns: Array) -> Array:
        parts = np.split(unknowns[12:], np.cumsum([np.prod(size) for size in sizes.values()])[:-1])
        turns = {name: part.reshape(size) for (name, size), part in zip(sizes.items(), parts, strict=True)}
        return responses(unknowns[:12], turns)

    centre = np.concatenate([matrix.ravel(), offset, np.zeros(deviations.size - 12)])
    step = 1e-6
    slopes = [
        (shown(centre + step * unit) - shown(centre - step * unit)) / (2 * step)
        for unit in np.eye(centre.size)
    ]
    jacobian = np.stack(slopes, axis=1)
    information = jacobian.T @ jacobian / noise_g**2 + np.diag(deviations**-2.0)
    return np.linalg.inv(information)[:12, :12]


def test_every_parameter_and_tilt_is_within_1_10_of_the_bound() -> None:
    """1000 benches of one chip, 12 + 6 rests of 1 s, with new turns and new noise each."""
    rng = np.random.default_rng(10)
    one = sim.draw(rng, 1)
    benches = sim.draw(rng, BENCHES, scatter_deg=np.degrees(LAYING_RAD))
    benches = replace(
        benches,
        matrix=np.tile(one.matrix, (BENCHES, 1, 1)),
        offset_g=np.tile(one.offset_g, (BENCHES, 1)),
        tilt_rad=np.radians(0.25) * rng.standard_normal((BENCHES, 2)),
    )
    rests = sim.rests_of(benches, rng, sim.POSES["12+6"], lean_scatter=0.0)
    truth = np.concatenate([one.matrix[0].ravel(), one.offset_g[0]])
    counts_per_g = one.chip.counts_per_g
    ends = np.array([sim.Z, sim.deflected(sim.X[None], sim.Z[None], np.array([TURN_DEG]))[0]])
    shown = ends @ one.matrix[0].T + one.offset_g[0]
    errors, tilts = [], []
    for row in rests:
        found = solve(row, counts_per_g, PRIORS)
        matrix, bias = found.matrix_counts_per_g / counts_per_g, found.bias_counts / counts_per_g
        errors.append(np.concatenate([matrix.ravel(), bias]) - truth)
        start, end = np.linalg.solve(matrix, (shown - bias).T).T
        tilts.append(np.degrees(angle_about(sim.X, start, end)) - TURN_DEG)
    least = bound(one.matrix[0], one.offset_g[0], 400e-6 / np.sqrt(2))
    assert np.all(np.sqrt(np.mean(np.square(errors), axis=0)) <= 1.10 * np.sqrt(np.diag(least)))
    assert np.sqrt(np.mean(np.square(tilts))) <= 1.10 * np.degrees(
        np.sqrt(tilt_variance(truth, shown, least))
    )


def tilt_variance(truth: Array, shown: Array, covariance: Array) -> float:
    """Variance, rad², of the turn between two readings, by numeric slopes."""

    def turn(unknowns: Array) -> float:
        start, end = np.linalg.solve(unknowns[:9].reshape(3, 3), (shown - unknowns[9:]).T).T
        return angle_about(sim.X, start, end)

    slope = np.array([(turn(truth + 1e-6 * unit) - turn(truth - 1e-6 * unit)) / 2e-6 for unit in np.eye(12)])
    return float(slope @ covariance @ slope)
