"""The one estimator: every rest of a calibration, each weighted by what it truly tells (MODEL.md).

Unknowns, all dimensionless: θ (12) = S / counts_per_g row by row and b / counts_per_g; per face its squareness q (2)
and the table's tilt t (2) as first laid, rad; per rest its attitude w (2), rad. Equations, each divided by its standard
deviation: three counts a rest; q, t and the laying-down w - q - R(yaw)ᵀt of face rests against zero. Gauss-Newton;
the covariance is the inverse of the information, split by what the equations stand for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from hingeline_calibration.arrays import Array
from hingeline_calibration.errors import CalibrationError, MissingDirections
from hingeline_calibration.faces import from_pairs
from hingeline_calibration.observability import open_directions
from hingeline_calibration.placements import FACES, Rest, face_axes, face_up
from hingeline_calibration.priors import Priors

PARAMETERS = 12
_STEPS = 30
_CONVERGED = 1e-10
SOURCES = ("calibration noise", "table", "carrier")
"""What the covariance is split into: noise of the rests; tilt, flatness and laying-down; squareness."""


@dataclass(frozen=True, eq=False)
class Solution:
    """What the estimator found.

    Attributes
    ----------
    matrix_counts_per_g : (3, 3)
    bias_counts : (3,)
    parts
        By source, its part of the covariance (12, 12) of (matrix row by row, bias), counts².
    squareness_deg
        By face, two components along `placements.face_axes`, then their standard deviations.
    tilt_deg
        By face, the table's tilt where it was first laid, the same four.
    misfits : (K,)
        Root of each rest's summed squared equations: about 1, beyond 6 not chance.
    residuals_g : (K,)
        |S⁻¹(counts - b)| - 1 of each rest.
    """

    matrix_counts_per_g: Array
    bias_counts: Array
    parts: dict[str, Array]
    squareness_deg: dict[str, tuple[float, float, float, float]]
    tilt_deg: dict[str, tuple[float, float, float, float]]
    misfits: Array
    residuals_g: Array


@dataclass(frozen=True, eq=False)
class Layout:
    """Where each unknown and each equation of a set of rests stands."""

    faces: tuple[str, ...]
    face_rests: NDArray[np.int_]
    """(F,) rests that lie on a face."""
    prior_rows: Array
    """(P, n) equations of q, t and laying-down, divided by their standard deviations; they are linear."""
    sources: NDArray[np.int_]
    """(3K + P,) index into `SOURCES` of each equation."""
    attitude: NDArray[np.int_]
    """(K,) first column of each rest's attitude."""


def layout(rests: Sequence[Rest], priors: Priors) -> Layout:
    """Number the unknowns and write the equations that do not depend on counts."""
    faces = tuple(face for face in FACES if any(rest.face == face for rest in rests))
    first = PARAMETERS + 4 * len(faces)
    attitude = first + 2 * np.arange(len(rests))
    face_rests = np.array([k for k, rest in enumerate(rests) if rest.face is not None], int)
    rows = np.zeros((4 * len(faces) + 2 * face_rests.size, first + 2 * len(rests)))
    own = np.arange(4 * len(faces))
    square, tilt = 1 / np.radians([priors.squareness_deg, priors.table_tilt_deg])
    rows[own, PARAMETERS + own] = np.tile([square, square, tilt, tilt], len(faces))
    for i, k in enumerate(face_rests):
        row, column = own.size + 2 * i, PARAMETERS + 4 * faces.index(rests[k].face or "")
        yaw = np.radians(rests[k].yaw_deg or 0.0)
        turn = np.array([[np.cos(yaw), np.sin(yaw)], [-np.sin(yaw), np.cos(yaw)]])
        rows[row : row + 2, attitude[k] : attitude[k] + 2] = np.eye(2)
        rows[row : row + 2, column : column + 2] = -np.eye(2)
        rows[row : row + 2, column + 2 : column + 4] = -turn
        rows[row : row + 2] /= priors.laying_rad
    sources = np.concatenate(
        [np.zeros(3 * len(rests)), np.tile([2, 2, 1, 1], len(faces)), np.ones(2 * face_rests.size)]
    )
    return Layout(faces, face_rests, rows, sources.astype(int), attitude)


def whiteners(rests: Sequence[Rest], counts_per_g: float, extra_g: Array) -> Array:
    """(K, 3, 3) matrices L with LᵀL the inverse covariance of each rest's mean, in g.

    The sensor is one, so is its noise: the covariances of the windows, each times its length, are averaged.
    """
    lengths = np.array([rest.window.duration_s for rest in rests])
    covariances = np.array([rest.window.covariance_counts2 for rest in rests]) / counts_per_g**2
    density = (covariances * lengths[:, None, None]).mean(axis=0)
    total = density / lengths[:, None, None] + np.eye(3) * extra_g[:, None, None] ** 2
    return np.linalg.inv(np.linalg.cholesky(total))


class _State:
    """Unknowns during the iteration. Attitudes are turns from a centre of each rest along two of its axes."""

    def __init__(self, rests: Sequence[Rest], plan: Layout, counts_g: Array, theta: Array) -> None:
        self.counts_g = counts_g
        self.values = np.zeros(plan.prior_rows.shape[1])
        self.values[:PARAMETERS] = theta
        leaned = np.array([rest.face is None for rest in rests])
        up = np.linalg.solve(theta[:9].reshape(3, 3), (counts_g - theta[9:]).T).T
        self.centres = up / np.linalg.norm(up, axis=1, keepdims=True)
        self.axes = _tangents(self.centres)
        self._leaned = leaned
        for k in plan.face_rests:
            face = rests[k].face or ""
            self.centres[k], self.axes[k] = face_up(face), face_axes(face)

    def up(self, attitude: NDArray[np.int_]) -> tuple[Array, Array]:
        """Unit vectors (K, 3) and their derivatives (K, 3, 2) by the attitudes."""
        turns = self.values[attitude[:, None] + [0, 1]]
        raw = self.centres + np.einsum("kij,kj->ki", self.axes, turns)
        length = np.linalg.norm(raw, axis=1)[:, None]
        up = raw / length
        along = np.einsum("ki,kij->kj", up, self.axes)
        return up, (self.axes - up[:, :, None] * along[:, None, :]) / length[:, :, None]


def _tangents(up: Array) -> Array:
    """(K, 3, 2) two perpendicular axes to each unit vector (K, 3)."""
    helper = np.eye(3)[np.argmin(np.abs(up), axis=1)]
    first = np.cross(up, helper)
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    return np.stack([first, np.cross(up, first)], axis=2)


def equations(state: _State, plan: Layout, whitener: Array) -> tuple[Array, Array]:
    """Residuals (rows,) and Jacobian (rows, n) of all equations at a state."""
    matrix, bias = state.values[:9].reshape(3, 3), state.values[9:PARAMETERS]
    up, slope = state.up(plan.attitude)
    count = len(up)
    jacobian = np.zeros((count, 3, state.values.size))
    jacobian[:, :, :9] = (whitener[:, :, :, None] * up[:, None, None, :]).reshape(count, 3, 9)
    jacobian[:, :, 9:PARAMETERS] = whitener
    columns = plan.attitude[:, None] + [0, 1]
    jacobian[np.arange(count)[:, None, None], np.arange(3)[None, :, None], columns[:, None, :]] = (
        whitener @ matrix @ slope
    )
    residual = np.einsum("kij,kj->ki", whitener, up @ matrix.T + bias - state.counts_g)
    return (
        np.concatenate([residual.ravel(), plan.prior_rows @ state.values]),
        np.concatenate([jacobian.reshape(3 * count, -1), plan.prior_rows]),
    )


def start(rests: Sequence[Rest], counts_g: Array) -> Array:
    """First values (12,): each axis's own pair where all faces are there, else the nominal sensor."""
    means = {
        face: counts_g[[k for k, rest in enumerate(rests) if rest.face == face]].mean(axis=0)
        for face in FACES
        if any(rest.face == face for rest in rests)
    }
    matrix, bias = from_pairs(means) if len(means) == len(FACES) else (np.eye(3), np.zeros(3))
    return np.concatenate([matrix.ravel(), bias])


def solve(
    rests: Sequence[Rest], counts_per_g: float, priors: Priors, extra_g: Array | None = None
) -> Solution:
    """Fit all rests.

    Parameters
    ----------
    rests
        Placements in any order.
    counts_per_g
        Nominal sensitivity: the unit of the unknowns, not an estimate.
    priors
        Standard deviations of table and carrier.
    extra_g : (K,)
        Further standard deviation of each rest's mean, such as that of its temperature.

    Raises
    ------
    MissingDirections
        The rests leave part of matrix or bias open.
    CalibrationError
        The iteration does not settle.
    """
    plan = layout(rests, priors)
    counts_g = np.array([rest.window.mean_counts for rest in rests]) / counts_per_g
    whitener = whiteners(rests, counts_per_g, np.zeros(len(rests)) if extra_g is None else extra_g)
    state = _State(rests, plan, counts_g, start(rests, counts_g))
    _refuse_open(equations(state, plan, whitener)[1])
    for _ in range(_STEPS):
        residual, jacobian = equations(state, plan, whitener)
        factor = cho_factor(jacobian.T @ jacobian)
        step = cho_solve(factor, jacobian.T @ residual)
        state.values -= step
        if np.abs(step).max() < _CONVERGED:
            return _solution(state, plan, residual, cho_solve(factor, jacobian.T), counts_per_g)
    raise CalibrationError(
        f"the fit did not settle in {_STEPS} steps",
        "Take the rests again; look for one that was moved or misnamed",
    )


def _refuse_open(jacobian: Array) -> None:
    """Raise `MissingDirections` where the rests leave matrix or bias open."""
    information = jacobian.T @ jacobian
    wanted, other = slice(0, PARAMETERS), slice(PARAMETERS, None)
    eliminated = information[wanted, other] @ np.linalg.solve(
        information[other, other], information[other, wanted]
    )
    missing = open_directions(information[wanted, wanted] - eliminated)
    if missing:
        raise MissingDirections(
            f"the rests leave open: {', '.join(missing)}; expected at least the six faces",
            "Take the faces that are missing, then rests leaned between them",
            missing,
        )


def _solution(state: _State, plan: Layout, residual: Array, gain: Array, counts_per_g: float) -> Solution:
    deviations = np.degrees(np.sqrt(np.einsum("ij,ij->i", gain, gain)))
    values_deg = np.degrees(state.values)

    def by_face(first: int) -> dict[str, tuple[float, float, float, float]]:
        columns = {face: first + 4 * index for index, face in enumerate(plan.faces)}
        return {
            face: (*values_deg[c : c + 2].tolist(), *deviations[c : c + 2].tolist())
            for face, c in columns.items()
        }

    matrix, bias = state.values[:9].reshape(3, 3), state.values[9:PARAMETERS]
    gravity = np.linalg.solve(matrix, (state.counts_g - bias).T)
    count = len(plan.attitude)
    squares = (residual[: 3 * count].reshape(-1, 3) ** 2).sum(axis=1)
    laid = residual[3 * count + 4 * len(plan.faces) :].reshape(-1, 2)
    squares[plan.face_rests] += (laid**2).sum(axis=1)
    return Solution(
        matrix_counts_per_g=matrix * counts_per_g,
        bias_counts=bias * counts_per_g,
        parts={
            name: _outer(gain[:PARAMETERS, plan.sources == index]) * counts_per_g**2
            for index, name in enumerate(SOURCES)
        },
        squareness_deg=by_face(PARAMETERS),
        tilt_deg=by_face(PARAMETERS + 2),
        misfits=np.sqrt(squares),
        residuals_g=np.linalg.norm(gravity, axis=0) - 1,
    )


def _outer(gain: Array) -> Array:
    return np.asarray(gain @ gain.T)
