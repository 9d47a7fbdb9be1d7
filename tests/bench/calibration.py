"""Fit time and accuracy beside `imucal`, on the same counts in the same run.

Ours fits the readings of the poses, averaged line by line while they are taken; imucal the regions of a recording, its
documented way in.
"""

from __future__ import annotations

from functools import partial

import numpy as np
import pandas as pd
from imucal import FerrarisCalibration, ferraris_regions_from_df
from tests.bench.rows import Row
from tests.bench.timing import times
from tests.calibration import simulate as sim

from hingeline_calibration.arrays import Array
from hingeline_calibration.poses import TakenPose
from hingeline_calibration.priors import Priors

GROUPS = ("scale", "shear", "rotation", "bias")
BENCHES = 100
TIMED = 30
LINES = 50
PRIORS = Priors(squareness_deg=0.2)
POSES_BY_COUNT = {
    6: sim.SIX,
    24: sim.TWENTY_FOUR,
    60: tuple((face, yaw) for face in sim.FACES for yaw in 36.0 * np.arange(10)),
}


def section(taken: list[TakenPose]) -> pd.DataFrame:
    """The recording that the reference reads: every line of every pose at its mean, with a gyroscope at rest."""
    frames = []
    for face in sim.FACES:
        means = [pose.reading.mean_counts for pose in taken if pose.face == face]
        name = f"{face[1]}_{'p' if face[0] == '+' else 'a'}"
        frames.append(_frame(np.repeat(means, LINES, axis=0), np.zeros(3), name))
    for axis in range(3):
        frames.append(_frame(np.ones((LINES, 3)), np.eye(3)[axis], f"{'xyz'[axis]}_rot"))
    return pd.concat(frames)


def _frame(accelerometer: Array, gyroscope: Array, name: str) -> pd.DataFrame:
    values = np.hstack([accelerometer, np.tile(gyroscope, (len(accelerometer), 1))])
    columns = [f"{kind}_{axis}" for kind in ("acc", "gyr") for axis in "xyz"]
    return pd.DataFrame(values, columns=columns, index=pd.Index([name] * len(values)))


def reference(recording: pd.DataFrame) -> tuple[Array, Array]:
    """Matrix in counts per g and bias in counts, by the reference."""
    found = FerrarisCalibration(grav=1.0).compute(
        ferraris_regions_from_df(recording), 50.0, from_acc_unit="counts", from_gyr_unit="counts"
    )
    return found.K_a @ found.R_a, found.b_a


def rows() -> list[Row]:
    """Return fit times, and root mean square errors over many benches."""
    rng = np.random.default_rng(1)
    told = []
    for count, poses in POSES_BY_COUNT.items():
        benches = sim.draw(rng, BENCHES)
        taken = sim.poses_of(benches, rng, poses)
        recordings = [section(row) for row in taken]
        fits = [sim.calibrated(benches, row, PRIORS) for row in taken]
        ours = errors(benches, [(one.matrix_counts_per_g, one.bias_counts) for one in fits])
        theirs = errors(benches, [reference(recording) for recording in recordings])
        told.append(
            times(
                f"calibration of {count} poses, fit",
                "ms",
                1e3,
                partial(sim.calibrated, benches, taken[0], PRIORS),
                peer="imucal",
                theirs=partial(reference, recordings[0]),
                at_most=1.0,
                repetitions=TIMED,
            )
        )
        told += [
            Row(
                f"calibration of {count} poses, rms error of {name}",
                1e3 * ours[name],
                "mg" if name == "bias" else "1e-3",
                "imucal",
                1e3 * theirs[name],
                at_most=1.0,
            )
            for name in GROUPS
        ]
    return told


def errors(benches: sim.Benches, found: list[tuple[Array, Array]]) -> dict[str, float]:
    """Root mean square error of each group of parameters.

    |S| decides |gravity|: SᵀS holds scale and shear whatever the frame, and what is antisymmetric in S the rotation.
    """
    counts_per_g = benches.chip.counts_per_g
    matrix = np.array([one for one, _ in found]) / counts_per_g
    metric = np.swapaxes(matrix, 1, 2) @ matrix - np.swapaxes(benches.matrix, 1, 2) @ benches.matrix
    off = matrix - benches.matrix
    groups = {
        "scale": metric[:, range(3), range(3)],
        "shear": metric[:, [0, 0, 1], [1, 2, 2]],
        "rotation": (off - np.swapaxes(off, 1, 2))[:, [0, 0, 1], [1, 2, 2]],
        "bias": np.array([one for _, one in found]) / counts_per_g - benches.offset_g,
    }
    return {name: float(np.sqrt(np.mean(np.square(values)))) for name, values in groups.items()}
