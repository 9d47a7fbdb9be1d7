"""Weighted linear least squares with its covariance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.errors import CalibrationError


@dataclass(frozen=True, eq=False)
class LinearFit:
    """Result of `fit_linear`.

    Attributes
    ----------
    values : (P,)
    covariance : (P, P)
    residual_sd
        Root of the weighted squares over the degrees of freedom; 0 without any left.
    """

    values: Array
    covariance: Array
    residual_sd: float

    @property
    def deviations(self) -> Array:
        """(P,) standard deviations of the values."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    def predict(self, row: ArrayLike) -> tuple[float, float]:
        """Value of the model at a row (P,) of the design, and its standard uncertainty."""
        at = np.asarray(row, float)
        return float(at @ self.values), float(np.sqrt(at @ self.covariance @ at))


def fit_linear(design: ArrayLike, observed: ArrayLike, deviations: ArrayLike | None = None) -> LinearFit:
    """Solve design · values = observed.

    Parameters
    ----------
    design : (N, P)
        N at least P.
    observed : (N,)
    deviations : (N,), optional
        Standard deviations of the observations. Where None all are alike and their size is estimated.

    Raises
    ------
    CalibrationError
        Columns of the design depend on each other.

    Notes
    -----
    Columns are scaled to length 1 and solved by Householder QR, with one step of iterative refinement (Björck,
    Numerical Methods for Least Squares Problems, 1996, sec. 2.9; from memory). Covariance (RᵀR)⁻¹, times s² when
    estimated (GUM H.3).
    """
    weights = np.ones(np.shape(observed)) if deviations is None else 1 / np.asarray(deviations, float)
    rows = np.asarray(design, float) * weights[:, None]
    target = np.asarray(observed, float) * weights
    lengths = np.linalg.norm(rows, axis=0)
    if not np.all(lengths > 0):
        raise _dependent()
    q, r = np.linalg.qr(rows / lengths)
    if np.abs(np.diag(r)).min() < 1e-13:
        raise _dependent()
    scaled = np.linalg.solve(r, q.T @ target)
    scaled += np.linalg.solve(r, q.T @ (target - (rows / lengths) @ scaled))
    residual = target - rows @ (scaled / lengths)
    freedom = residual.size - lengths.size
    variance = float(residual @ residual) / freedom if freedom else 0.0
    inverse = np.linalg.solve(r, np.eye(lengths.size)) / lengths[:, None]
    size = variance if deviations is None else 1.0
    return LinearFit(scaled / lengths, size * inverse @ inverse.T, float(np.sqrt(variance)))


def _dependent() -> CalibrationError:
    return CalibrationError(
        "columns that depend on each other, expected independent ones", "Take more varied measurements"
    )
