"""Scale and bias from six faces in closed form: each axis's own pair."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.poses import FACES


def from_pairs(mean_counts: Mapping[str, ArrayLike]) -> tuple[Array, Array]:
    """Matrix and bias from the means of the six faces.

    Parameters
    ----------
    mean_counts
        Counts (3,) of each of the six faces.

    Returns
    -------
    matrix_counts_per_g : (3, 3)
        Column j is half the difference of the pair of axis j.
    bias_counts : (3,)
        Element i is the middle of reading i over the pair of axis i, which a tilt of the pair changes in
        second order only; the mean of all six readings changes in first order.
    """
    counts = np.array([np.asarray(mean_counts[face], float) for face in FACES])
    up, down = counts[0::2], counts[1::2]
    return (up - down).T / 2, np.diag(up + down) / 2
