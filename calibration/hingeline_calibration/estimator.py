"""The one estimator: every pose of a calibration, each weighted by what it says (MODEL.md).

Unknowns, all dimensionless. Common to all poses: θ (12), S / counts_per_g row by row and b / counts_per_g; per face
its squareness q (2) and the table's tilt t (2) as first laid, rad. Own to each pose: its attitude w (2), rad.
Equations, each divided by its standard deviation: the three counts of a pose; the laying-down w - q - R(yaw)ᵀt of a
pose on a face; q and t against zero. Gauss-Newton; attitudes are eliminated pose by pose, so the work grows with the
number of poses only. The covariance is the inverse of the information, split by what the equations stand for. Without
a pose on a face nothing fixes the carrier's rotation: then S is symmetric, by convention, and that is no uncertainty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.errors import CalibrationError, MissingDirections
from hingeline_calibration.observability import open_directions
from hingeline_calibration.poses import FACES, TakenPose, face_axes, face_up, from_pairs
from hingeline_calibration.priors import Priors

PARAMETERS = 12
CALIBRATION_NOISE = "calibration noise"
SOURCES = (CALIBRATION_NOISE, "table", "carrier")
"""What the covariance is split into: noise of the poses; tilt, flatness and laying-down; squareness."""
_ROTATIONS = ((1, 3), (2, 6), (5, 7))
"""Of S row by row, the pairs that are alike in a symmetric matrix."""
_ALIKE = 1e4
"""Weight of a pair that is alike by convention: any does, for nothing else speaks of the rotation."""
_STEPS = 30
_CONVERGED = 1e-6
"""Of a step; the next one would be some thousand times smaller."""
_FACE_UPS = np.array([face_up(face) for face in FACES])
_FACE_AXES = np.array([face_axes(face) for face in FACES])


@dataclass(frozen=True, eq=False)
class Solution:
    """The least-squares solution: matrix (3, 3), bias (3,), and what is uncertain of them.

    Attributes
    ----------
    parts
        By source, its part of the covariance (12, 12) of (matrix row by row, bias), counts².
    squareness_deg
        By face, two components along `poses.face_axes`, then their standard deviations.
    tilt_deg
        By face, the table's tilt where it was first laid, the same four.
    misfits : (K,)
        Root of each pose's summed squared equations: about 1, beyond 6 not chance.
    ups : (K, 3)
        Unit up vector of each pose, carrier frame.
    """

    matrix_counts_per_g: Array
    bias_counts: Array
    parts: dict[str, Array]
    squareness_deg: dict[str, tuple[float, float, float, float]]
    tilt_deg: dict[str, tuple[float, float, float, float]]
    misfits: Array
    ups: Array


def solve(poses: Sequence[TakenPose], counts_per_g: float, priors: Priors, extra_g: Array | None = None) -> Solution:
    """Fit all poses, in any order.

    The nominal sensitivity is the unit of the unknowns, not an estimate. `extra_g` (K,) is a further standard deviation
    of each pose's mean, such as that of its temperature.

    Raises
    ------
    MissingDirections
        The poses leave part of matrix or bias open.
    CalibrationError
        The iteration does not settle.
    """
    problem = _Problem(poses, counts_per_g, priors, extra_g)
    common, turns = problem.start()
    system = problem.linearise(common, turns)
    _refuse_open(system.information)
    for _ in range(_STEPS):
        step = np.linalg.solve(system.information, -system.gradient)
        common = common + step
        turns = turns + system.turns_step - system.turns_slope @ step
        system = problem.linearise(common, turns)
        if np.abs(step).max() < _CONVERGED:
            return problem.solution(common, turns, system)
    raise CalibrationError(
        f"the fit did not settle in {_STEPS} steps",
        "Take the poses again; look for one that was moved or misnamed",
    )


@dataclass(frozen=True, eq=False)
class _System:
    """The equations linearised, attitudes eliminated."""

    rows: Array
    """(K, 5, n) each pose's equations, three counts and two of laying down, projected off its attitude."""
    residual: Array
    """(K, 5) the same at the best attitudes."""
    information: Array
    """(n, n) with the priors."""
    gradient: Array
    """(n,)"""
    turns_step: Array
    """(K, 2) step of the attitudes at fixed common unknowns."""
    turns_slope: Array
    """(K, 2, n) by how much less they step for a step of the common unknowns."""


class _Problem:
    """The poses as arrays. A pose's attitude turns its centre (3,) along two axes (3, 2)."""

    def __init__(self, poses: Sequence[TakenPose], counts_per_g: float, priors: Priors, extra_g: Array | None) -> None:
        self._counts_per_g = counts_per_g
        self._face = np.array([-1 if pose.face is None else FACES.index(pose.face) for pose in poses])
        self._on_face = np.flatnonzero(self._face >= 0)
        self._faces = np.unique(self._face[self._on_face])
        self._counts_g = np.array([pose.reading.mean_counts for pose in poses]) / counts_per_g
        self._whitener = _whiteners(poses, counts_per_g, extra_g)
        self._prior = np.zeros(PARAMETERS + 4 * self._faces.size)
        square, tilt = 1 / np.radians([priors.squareness_deg, priors.table_tilt_deg])
        self._prior[PARAMETERS:] = np.tile([square, square, tilt, tilt], self._faces.size)
        self._priors = np.diag(self._prior**2)
        if not self._faces.size:
            for i, j in _ROTATIONS:
                self._priors[np.ix_([i, j], [i, j])] += _ALIKE**2 * np.array([[1.0, -1.0], [-1.0, 1.0]])
        self._laying = np.where(self._face >= 0, 1 / priors.laying_rad, 0.0)
        self._expected = self._expected_turns(np.radians([pose.yaw_deg or 0.0 for pose in poses]))
        self._centres, self._axes = np.zeros((len(poses), 3)), np.zeros((len(poses), 3, 2))

    def _expected_turns(self, yaws_rad: Array) -> Array:
        """(K, 2, n) attitude of each pose on a face by the common unknowns: q + R(yaw)ᵀ t."""
        expected = np.zeros((yaws_rad.size, 2, self._prior.size))
        pose, yaw = self._on_face, yaws_rad[self._on_face]
        first = PARAMETERS + 4 * np.searchsorted(self._faces, self._face[pose])
        expected[pose, 0, first] = expected[pose, 1, first + 1] = 1.0
        expected[pose, 0, first + 2] = expected[pose, 1, first + 3] = np.cos(yaw)
        expected[pose, 0, first + 3] = np.sin(yaw)
        expected[pose, 1, first + 2] = -np.sin(yaw)
        return expected

    def start(self) -> tuple[Array, Array]:
        """First values: each axis's own pair where all faces are there, else the nominal sensor."""
        matrix, bias = np.eye(3), np.zeros(3)
        if self._faces.size == len(FACES):
            matrix, bias = from_pairs(
                {name: self._counts_g[self._face == k].mean(axis=0) for k, name in enumerate(FACES)}
            )
        shown = np.linalg.solve(matrix, (self._counts_g - bias).T).T
        self._centres = shown / np.linalg.norm(shown, axis=1, keepdims=True)
        self._axes = _tangents(self._centres)
        self._centres[self._on_face] = _FACE_UPS[self._face[self._on_face]]
        self._axes[self._on_face] = _FACE_AXES[self._face[self._on_face]]
        common = np.zeros(self._prior.size)
        common[:9], common[9:PARAMETERS] = matrix.ravel(), bias
        return common, np.zeros((self._face.size, 2))

    def _ups(self, turns: Array) -> tuple[Array, Array]:
        """Unit vectors (K, 3) and their derivatives (K, 3, 2) by the attitudes (K, 2)."""
        raw = self._centres + (self._axes @ turns[:, :, None])[:, :, 0]
        length = np.sqrt((raw * raw).sum(axis=1))[:, None]
        ups = raw / length
        along = ups[:, None, :] @ self._axes
        return ups, (self._axes - ups[:, :, None] * along) / length[:, :, None]

    def linearise(self, common: Array, turns: Array) -> _System:
        """The equations about a state."""
        matrix, bias = common[:9].reshape(3, 3), common[9:PARAMETERS]
        ups, slopes = self._ups(turns)
        laying = self._laying[:, None, None]
        rows = np.zeros((len(ups), 5, common.size))
        rows[:, :3, :9] = (self._whitener[:, :, :, None] * ups[:, None, None, :]).reshape(-1, 3, 9)
        rows[:, :3, 9:PARAMETERS] = self._whitener
        rows[:, 3:] = -laying * self._expected
        by_turns = np.concatenate([self._whitener @ matrix @ slopes, laying * np.eye(2)], axis=1)
        misses = (self._whitener @ (ups @ matrix.T + bias - self._counts_g)[:, :, None])[:, :, 0]
        laid = self._laying[:, None] * (turns - self._expected @ common)
        residual = np.concatenate([misses, laid], axis=1)
        transposed = by_turns.transpose(0, 2, 1)
        solver = np.linalg.inv(transposed @ by_turns) @ transposed
        turns_slope, turns_step = solver @ rows, -(solver @ residual[:, :, None])[:, :, 0]
        rows -= by_turns @ turns_slope
        residual += (by_turns @ turns_step[:, :, None])[:, :, 0]
        flat = rows.reshape(-1, common.size)
        return _System(
            rows=rows,
            residual=residual,
            information=flat.T @ flat + self._priors,
            gradient=flat.T @ residual.ravel() + self._priors @ common,
            turns_step=turns_step,
            turns_slope=turns_slope,
        )

    def solution(self, common: Array, turns: Array, system: _System) -> Solution:
        """Values, and the covariance by source: each equation's error, one standard deviation, times its influence."""
        covariance = np.linalg.inv(system.information)
        influence = covariance[:PARAMETERS]
        squared = np.tile([True, True, False, False], self._faces.size)
        priors = influence[:, PARAMETERS:] * self._prior[PARAMETERS:]
        noise = influence @ system.rows[:, :3].reshape(-1, common.size).T
        laying = influence @ system.rows[:, 3:].reshape(-1, common.size).T
        groups = (noise, np.concatenate([laying, priors[:, ~squared]], axis=1), priors[:, squared])
        values_deg, deviations_deg = np.degrees(common), np.degrees(np.sqrt(np.diag(covariance)))

        def by_face(first: int) -> dict[str, tuple[float, float, float, float]]:
            columns = {FACES[face]: first + 4 * index for index, face in enumerate(self._faces)}
            return {
                face: (*values_deg[c : c + 2].tolist(), *deviations_deg[c : c + 2].tolist())
                for face, c in columns.items()
            }

        return Solution(
            matrix_counts_per_g=common[:9].reshape(3, 3) * self._counts_per_g,
            bias_counts=common[9:PARAMETERS] * self._counts_per_g,
            parts={
                name: np.asarray(group @ group.T) * self._counts_per_g**2
                for name, group in zip(SOURCES, groups, strict=True)
            },
            squareness_deg=by_face(PARAMETERS),
            tilt_deg=by_face(PARAMETERS + 2),
            misfits=np.asarray(np.sqrt((system.residual**2).sum(axis=1))),
            ups=self._ups(turns)[0],
        )


def _whiteners(poses: Sequence[TakenPose], counts_per_g: float, extra_g: Array | None) -> Array:
    """(K, 3, 3) matrices L with LᵀL the inverse covariance of each pose's mean, in g.

    The sensor is one, so is its noise: the covariances of the readings, each times its length, are averaged.
    """
    lengths = np.array([pose.reading.duration_s for pose in poses])[:, None, None]
    covariances = np.array([pose.reading.covariance_counts2 for pose in poses]) / counts_per_g**2
    total = (covariances * lengths).mean(axis=0) / lengths
    if extra_g is not None:
        total = total + np.eye(3) * extra_g[:, None, None] ** 2
    return np.linalg.inv(np.linalg.cholesky(total))


def _tangents(ups: Array) -> Array:
    """(K, 3, 2) two perpendicular axes to each unit vector (K, 3)."""
    first = np.cross(ups, np.eye(3)[np.argmin(np.abs(ups), axis=1)])
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    return np.stack([first, np.cross(ups, first)], axis=2)


def _refuse_open(information: Array) -> None:
    """Raise `MissingDirections` where the poses leave matrix or bias open."""
    wanted, other = slice(0, PARAMETERS), slice(PARAMETERS, None)
    eliminated = information[wanted, other] @ np.linalg.solve(information[other, other], information[other, wanted])
    missing = open_directions(information[wanted, wanted] - eliminated)
    if missing:
        raise MissingDirections(
            f"the poses leave open: {', '.join(missing)}; expected at least the six faces",
            "Take the faces that are missing, then leaning poses",
            missing,
        )
