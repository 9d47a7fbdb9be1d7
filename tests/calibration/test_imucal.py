"""The six real poses through `imucal` itself, where it can be installed.

Its results are in test_six_poses.py as numbers for every Python.
"""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.poses import from_pairs

from .test_six_poses import GRAVITY_M_S2, POSES


def test_imucal_gives_the_same() -> None:
    imucal = pytest.importorskip("imucal", reason="imucal 2.6 has no release for Python 3.14 and later")
    still = {
        f"acc_{face[1]}_{'p' if face[0] == '+' else 'a'}": np.tile(counts, (2, 1)) for face, counts in POSES.items()
    }
    # The library wants a gyroscope too: at rest zero, and a turn about each axis.
    other = {
        name: np.tile(np.eye(3)["xyz".index(name[4])], (2, 1)) if name.endswith("_rot") else np.zeros((2, 3))
        for name in imucal.FerrarisSignalRegions._fields
        if name not in still
    }
    found = imucal.FerrarisCalibration().compute(
        imucal.FerrarisSignalRegions(**still, **other),
        sampling_rate_hz=1.0,
        from_acc_unit="counts",
        from_gyr_unit="counts",
    )
    matrix, bias = from_pairs(POSES)
    assert np.linalg.norm(matrix, axis=1) / GRAVITY_M_S2 == pytest.approx(np.diag(found.K_a), rel=1e-12)
    assert matrix / GRAVITY_M_S2 == pytest.approx(found.K_a @ found.R_a, rel=1e-12)
    assert bias == pytest.approx(found.b_a, rel=1e-12)
