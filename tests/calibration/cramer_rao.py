"""The Cramér-Rao bound of a calibration, computed from the physics of the bench: no function of the package is used."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from . import simulate as sim

Array = np.ndarray
POSES = "12+6"
BENCH_DEG = {"squareness_deg": 0.2, "table_tilt_deg": 0.25, "scatter_deg": 0.02, "flatness_deg": 0.0166}
"""How far carrier, table and each laying-down are off, one standard deviation: what an estimator may know of them."""
LAYING_RAD = np.radians(np.hypot(0.02, 0.0166))
LEVEL = {"x": ("y", "z"), "y": ("z", "x"), "z": ("x", "y")}
"""By axis that stands upright, the two that lie level, in the order of a right-handed frame."""
AXES = dict(zip("xyz", np.eye(3), strict=True))


def responses(theta: Array, nuisance: dict[str, Array]) -> Array:
    """(3K,) what the chip shows, in g, from S and b (12) and small turns of faces, table, each laying and each lean."""
    matrix, offset = theta[:9].reshape(3, 3), theta[9:]
    shown = []
    for index, (face, how) in enumerate(sim.POSES[POSES]):
        if face is None:
            up = np.array(how) / np.linalg.norm(how)
            up = up + nuisance["laying"][index] @ np.linalg.svd(up[None])[2][1:]
        else:
            number, yaw = sim.FACES.index(face), np.radians(how)
            east, north = nuisance["tilt"][number]
            table = np.array([np.cos(yaw) * east + np.sin(yaw) * north, np.cos(yaw) * north - np.sin(yaw) * east])
            first, second = nuisance["square"][number] + table + nuisance["laying"][index]
            level = [AXES[axis] for axis in LEVEL[face[1]]]
            upright = AXES[face[1]] if face[0] == "+" else -AXES[face[1]]
            up = upright + first * level[0] + second * level[1]
        shown.append(matrix @ up / np.linalg.norm(up) + offset)
    return np.concatenate(shown)


def bound(truth: Array, noise_g: Array) -> Array:
    """(12, 12) Cramér-Rao bound of S and b with random turns of known standard deviations (van Trees' bound).

    `truth` (12,) is S row by row and b in g; `noise_g` (3,) is the deviation of each axis's mean over a pose, by noise
    and by what the chip repeats to.
    """
    poses = sim.POSES[POSES]
    sizes = {"square": (6, 2), "tilt": (6, 2), "laying": (len(poses), 2)}
    deviations = np.concatenate(
        [
            np.full(12, np.inf),
            np.full(12, np.radians(BENCH_DEG["squareness_deg"])),
            np.full(12, np.radians(BENCH_DEG["table_tilt_deg"])),
            np.repeat([np.inf if face is None else LAYING_RAD for face, _ in poses], 2),
        ]
    )

    def shown(unknowns: Array) -> Array:
        parts = np.split(unknowns[12:], np.cumsum([np.prod(size) for size in sizes.values()])[:-1])
        turns = {name: part.reshape(size) for (name, size), part in zip(sizes.items(), parts, strict=True)}
        return responses(unknowns[:12], turns) / np.tile(noise_g, len(poses))

    centre = np.concatenate([truth, np.zeros(deviations.size - 12)])
    step = 1e-6
    slopes = [(shown(centre + step * unit) - shown(centre - step * unit)) / (2 * step) for unit in np.eye(centre.size)]
    jacobian = np.stack(slopes, axis=1)
    information = jacobian.T @ jacobian + np.diag(deviations**-2.0)
    return np.linalg.inv(information)[:12, :12]


def slopes(angle: Callable[[Array], float], truth: Array, shown: Array) -> tuple[Array, Array]:
    """(12,) and (K, 3) change of an angle of K gravities (K, 3), by S and b and by the readings (K, 3), all in g."""

    def seen(unknowns: Array) -> float:
        matrix, offset, readings = unknowns[:9].reshape(3, 3), unknowns[9:12], unknowns[12:].reshape(-1, 3)
        return angle(np.linalg.solve(matrix, (readings - offset).T).T)

    centre = np.concatenate([truth, shown.ravel()])
    changes = np.array(
        [(seen(centre + 1e-6 * unit) - seen(centre - 1e-6 * unit)) / 2e-6 for unit in np.eye(centre.size)]
    )
    return changes[:12], changes[12:].reshape(-1, 3)


def turn(gravities: Array) -> float:
    """Turn about x, rad, from the first gravity to the last: how far its part across x goes round."""
    (_, y0, z0), (_, y1, z1) = gravities[0], gravities[-1]
    return float(np.arctan2(y1, z1) - np.arctan2(y0, z0))


def of_one_truth(rng: np.random.Generator, chip: str, count: int) -> tuple[sim.Benches, Array]:
    """Benches with one and the same chip, but new turns of table, carrier and hands; and its S and b (12,) in g."""
    one = sim.draw(rng, 1, chip)
    benches = replace(
        sim.draw(rng, count, chip, scatter_deg=float(np.degrees(LAYING_RAD))),
        matrix=np.tile(one.matrix, (count, 1, 1)),
        offset_g=np.tile(one.offset_g, (count, 1)),
        tilt_rad=np.radians(BENCH_DEG["table_tilt_deg"]) * rng.standard_normal((count, 2)),
    )
    return benches, np.concatenate([one.matrix[0].ravel(), one.offset_g[0]])
