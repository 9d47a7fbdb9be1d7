"""What a set of poses determines: rank, condition, and the names of the directions it leaves open."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array

_PAIRS = (("xy", 0, 1), ("xz", 0, 2), ("yz", 1, 2))
NORM_DIRECTIONS = (
    *(f"scale {axis}" for axis in "xyz"),
    *(f"shear {name}" for name, _, _ in _PAIRS),
    *(f"bias {axis}" for axis in "xyz"),
)
"""What |gravity| = 1 alone can tell: 9 directions."""
DIRECTIONS = (*NORM_DIRECTIONS, *(f"rotation {name}" for name, _, _ in _PAIRS))
"""All 12 directions of matrix and bias."""
_OPEN = 0.05
"""A relative standard deviation (or g) beyond every datasheet's limit: the poses determine nothing here."""


@dataclass(frozen=True, eq=False)
class NormModel:
    """The nine-parameter model of |gravity| at a set of attitudes, and the directions that they leave open.

    The condition is the largest over the least singular value, infinite below rank 9. Standard deviations (9,) are per
    unit of noise, in the order of `NORM_DIRECTIONS`, infinite where open.
    """

    rank: int
    condition: float
    deviations: Array
    missing: tuple[str, ...]


def norm_model(ups: ArrayLike) -> NormModel:
    """What |gravity| determines at a set of unit up vectors (K, 3).

    Notes
    -----
    With a = (I + M)u + b, M upper triangular, |a| - 1 = uᵀMu + b·u to first order (Tedaldi, Pretto, Menegatti,
    ICRA 2014, eq. 10, without its squares).
    """
    rows = norm_rows(ups)
    padded = np.vstack([rows, np.zeros((len(NORM_DIRECTIONS), len(NORM_DIRECTIONS)))])
    _, values, directions = np.linalg.svd(padded, full_matrices=False)
    determined = values > 1e-6 * values[0]
    open_share = (directions[~determined] ** 2).sum(axis=0)
    with np.errstate(divide="ignore"):
        deviations = np.sqrt((directions[determined].T ** 2 / values[determined] ** 2).sum(axis=1))
        condition = float(values[0] / values[-1]) if determined.all() else np.inf
    return NormModel(
        rank=int(determined.sum()),
        condition=condition,
        deviations=np.where(open_share > 1e-9, np.inf, deviations),
        missing=tuple(name for name, share in zip(NORM_DIRECTIONS, open_share, strict=True) if share > 0.1),
    )


def norm_rows(ups: ArrayLike) -> Array:
    """(K, 9) change of |gravity| at unit up vectors (K, 3), by `NORM_DIRECTIONS`."""
    x, y, z = np.asarray(ups, float).T
    return np.stack([x * x, y * y, z * z, x * y, x * z, y * z, x, y, z], axis=1)


def open_directions(information: ArrayLike) -> tuple[str, ...]:
    """Names of the directions of matrix and bias that an information matrix (12, 12) leaves open.

    Its unknowns are relative: the matrix row by row over the counts per g, then the bias in g.
    """
    basis = np.zeros((12, 12))
    basis[[0, 1, 2], [0, 4, 8]] = 1
    for row, (_, i, j) in enumerate(_PAIRS):
        basis[3 + row, [3 * i + j, 3 * j + i]] = np.sqrt(0.5)
        basis[9 + row, [3 * i + j, 3 * j + i]] = np.sqrt(0.5), -np.sqrt(0.5)
    basis[[6, 7, 8], [9, 10, 11]] = 1
    values, directions = np.linalg.eigh(basis @ np.asarray(information, float) @ basis.T)
    loose = values < 1 / _OPEN**2
    share = (directions[:, loose] ** 2).sum(axis=1)
    return tuple(name for name, part in zip(DIRECTIONS, share, strict=True) if part > 0.1)
