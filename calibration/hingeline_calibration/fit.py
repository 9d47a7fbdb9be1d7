"""From the poses of one sensor to its calibration."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import MovedPose
from hingeline_calibration.estimator import Solution, solve
from hingeline_calibration.observability import norm_model
from hingeline_calibration.poses import TakenPose, check_axes, check_claim, check_distinct, check_reading
from hingeline_calibration.priors import Priors
from hingeline_calibration.scatter import Repeat, repeat_of
from hingeline_calibration.temperature import Tempco

_MISFIT = 6.0
"""A pose whose equations together are this many standard deviations out was moved: never by chance."""
_SHARED_BY = 4
"""A moved pose pulls the others of its face along; if this many more misfit alike, the fault is another."""


def calibrate(
    poses: Sequence[TakenPose],
    *,
    sensor_id: str,
    chip: str,
    counts_per_g: float,
    priors: Priors | None = None,
    date: str,
    tool_version: str,
) -> Calibration:
    """Calibrate one sensor, as its board introduces it, from any mixture of poses; MODEL.md gives the equations.

    Six faces at least, in any order; the same at further yaws and leaned poses make it better. Nine poses and more
    that are all leaned, in any attitude, are a set without a carrier: S is then symmetric, by convention. The date is
    ISO 8601.

    Raises
    ------
    UnusableReading, WrongPose
        A pose that can't be used, each with its own class.
    MissingDirections
        The poses leave part of the calibration open.
    """
    for pose in poses:
        check_reading(pose.reading, counts_per_g)
    check_axes([pose.reading for pose in poses], counts_per_g)
    if any(pose.face is not None for pose in poses):
        for pose in poses:
            check_claim(pose.reading, pose.face, counts_per_g)
    check_distinct(poses)
    tempco = Tempco.of_chip(chip)
    temperature_c, warmer_c = _temperatures(poses)
    extra_g = np.abs(warmer_c) * float(tempco.deviation_counts_per_c.max()) / counts_per_g
    solution, repeat = _solve(poses, counts_per_g, Priors() if priors is None else priors, extra_g)
    return Calibration(
        sensor_id=sensor_id,
        chip=chip,
        counts_per_g=counts_per_g,
        matrix_counts_per_g=solution.matrix_counts_per_g,
        bias_counts=solution.bias_counts,
        covariance_parts=solution.parts,
        temperature_c=temperature_c,
        tempco=tempco,
        date=date,
        poses=tuple((pose.face, pose.yaw_deg) for pose in poses),
        noise_mg=_noise_mg(poses, counts_per_g),
        residual_mg=float(np.sqrt(np.mean(_off_mg(poses, solution) ** 2))),
        table_tilt_deg=solution.tilt_deg,
        squareness_deg=solution.squareness_deg,
        priors_decide=norm_model(solution.ups).missing,
        tool_version=tool_version,
        repeat=repeat,
    )


def _solve(poses: Sequence[TakenPose], counts_per_g: float, priors: Priors, extra_g: Array) -> tuple[Solution, Repeat]:
    """Fit the poses, each as far off beside its noise as the chip repeats a reading to. Raises as `calibrate`.

    The pose that stands out most is judged by what the others repeat to: its own error makes it no less remarkable.
    """
    noise_mg, askew_rad = _noise_mg(poses, counts_per_g), math.radians(priors.squareness_deg)

    def fit(repeat: Repeat) -> Solution:
        return solve(poses, counts_per_g, priors, np.hypot(extra_g, 1e-3 * repeat.deviation_mg))

    solution = fit(Repeat())
    off_mg = _off_mg(poses, solution)
    if solution.misfits.max() > _MISFIT:
        others = np.arange(len(poses)) != np.argmax(solution.misfits)
        _refuse_moved(poses, fit(repeat_of(solution.ups[others], off_mg[others], noise_mg, askew_rad)))
    repeat = repeat_of(solution.ups, off_mg, noise_mg, askew_rad)
    return (solution if repeat == Repeat() else fit(repeat)), repeat


def _temperatures(poses: Sequence[TakenPose]) -> tuple[float | None, Array]:
    """Mean chip temperature of all poses, and how much warmer (K,) each was."""
    known = [pose.reading.temperature_c for pose in poses if pose.reading.temperature_c is not None]
    if len(known) < len(poses):
        return None, np.zeros(len(poses))
    return float(np.mean(known)), np.array(known) - np.mean(known)


def _noise_mg(poses: Sequence[TakenPose], counts_per_g: float) -> float:
    """Root mean square, over poses and axes, of the noise of a mean."""
    covariances = np.array([pose.reading.covariance_counts2 for pose in poses])
    return float(np.sqrt(np.trace(covariances.mean(axis=0)) / 3)) / counts_per_g * 1e3


def _off_mg(poses: Sequence[TakenPose], solution: Solution) -> Array:
    """(K,) |gravity| - 1 g."""
    counts = np.array([pose.reading.mean_counts for pose in poses])
    gravity = np.linalg.solve(solution.matrix_counts_per_g, (counts - solution.bias_counts).T)
    return np.asarray(1e3 * (np.linalg.norm(gravity, axis=0) - 1))


def _refuse_moved(poses: Sequence[TakenPose], solution: Solution) -> None:
    """Refuse a pose that stands out. Where many disagree alike it is the chip, which repeats no better."""
    worst = int(np.argmax(solution.misfits))
    others = float(np.sort(solution.misfits)[-min(_SHARED_BY + 1, len(poses))])
    if solution.misfits[worst] > _MISFIT * max(1.0, others / 2):
        raise MovedPose(
            f"pose {worst + 1} ({poses[worst].name}) disagrees with the others by "
            f"{solution.misfits[worst]:.0f} times its uncertainty, expected at most {_MISFIT:g}",
            "Take it again: it was moved, laid on something, or turned another way than named",
            worst,
        )
