"""From the rests of one sensor to its calibration."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import MovedPlacement
from hingeline_calibration.estimator import Solution, solve
from hingeline_calibration.observability import norm_model
from hingeline_calibration.placements import Rest, check_axes, check_claim, check_distinct, check_window
from hingeline_calibration.priors import Priors
from hingeline_calibration.tempco import Tempco

_MISFIT = 6.0
"""A rest whose equations together are this many standard deviations out was moved: never by chance."""
_SHARED_BY = 4
"""A rest that was moved takes the others of its face along; so many more of a like misfit are another fault."""


def calibrate(
    rests: Sequence[Rest],
    *,
    sensor_id: str,
    chip: str,
    counts_per_g: float,
    priors: Priors | None = None,
    date: str,
    tool_version: str,
) -> Calibration:
    """Calibrate one sensor from any mixture of rests, in any order.

    Parameters
    ----------
    rests
        Six faces at least; the same at further yaws and leaned rests make it better.
    sensor_id, chip, counts_per_g
        As the board introduces the sensor.
    priors
        Standard deviations of table and carrier; the defaults of `Priors` where None.
    date
        ISO 8601.
    tool_version
        Version of hingeline.

    Raises
    ------
    UnusableWindow, WrongPlacement
        A rest that can't be used, each with its own class.
    MissingDirections
        The rests leave part of the calibration open.

    Notes
    -----
    MODEL.md gives the equations.
    """
    for rest in rests:
        check_window(rest.window, counts_per_g)
    check_axes([rest.window for rest in rests], counts_per_g)
    for rest in rests:
        check_claim(rest.window, rest.face, counts_per_g)
    check_distinct(rests)
    tempco = Tempco.of_chip(chip)
    temperature_c, warmer_c = _temperatures(rests)
    extra_g = np.abs(warmer_c) * float(tempco.deviation_counts_per_c.max()) / counts_per_g
    found = solve(rests, counts_per_g, Priors() if priors is None else priors, extra_g)
    _refuse_moved(rests, found)
    return Calibration(
        sensor_id=sensor_id,
        chip=chip,
        counts_per_g=counts_per_g,
        matrix_counts_per_g=found.matrix_counts_per_g,
        bias_counts=found.bias_counts,
        covariance_parts=found.parts,
        temperature_c=temperature_c,
        tempco=tempco,
        date=date,
        placements=tuple((rest.face, rest.yaw_deg) for rest in rests),
        noise_mg=_noise_mg(rests, counts_per_g),
        residual_mg=_residual_mg(rests, found),
        table_tilt_deg=found.tilt_deg,
        squareness_deg=found.squareness_deg,
        priors_decide=norm_model(found.ups).missing,
        tool_version=tool_version,
    )


def _temperatures(rests: Sequence[Rest]) -> tuple[float | None, Array]:
    """Mean chip temperature of all rests, and how much warmer (K,) each was."""
    known = [rest.window.temperature_c for rest in rests if rest.window.temperature_c is not None]
    if len(known) < len(rests):
        return None, np.zeros(len(rests))
    return float(np.mean(known)), np.array(known) - np.mean(known)


def _noise_mg(rests: Sequence[Rest], counts_per_g: float) -> float:
    """Root mean square, over rests and axes, of the noise of a mean."""
    covariances = np.array([rest.window.covariance_counts2 for rest in rests])
    return float(np.sqrt(np.trace(covariances.mean(axis=0)) / 3)) / counts_per_g * 1e3


def _residual_mg(rests: Sequence[Rest], found: Solution) -> float:
    """Root mean square of |gravity| - 1 g."""
    counts = np.array([rest.window.mean_counts for rest in rests])
    gravity = np.linalg.solve(found.matrix_counts_per_g, (counts - found.bias_counts).T)
    return float(np.sqrt(np.mean((np.linalg.norm(gravity, axis=0) - 1) ** 2))) * 1e3


def _refuse_moved(rests: Sequence[Rest], found: Solution) -> None:
    """Refuse a rest that stands out. Where many disagree alike it is the chip: `acceptance.judge` tells that."""
    worst = int(np.argmax(found.misfits))
    others = float(np.sort(found.misfits)[-min(_SHARED_BY + 1, len(rests))])
    if found.misfits[worst] > _MISFIT * max(1.0, others / 2):
        raise MovedPlacement(
            f"rest {worst + 1} ({rests[worst].name}) disagrees with the others by {found.misfits[worst]:.0f} times its "
            f"uncertainty, expected at most {_MISFIT:g}",
            "Take it again: it was moved, laid on something, or turned another way than named",
            worst,
        )
