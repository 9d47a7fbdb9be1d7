"""Drift: the temperature coefficient, warm-up, and when a measurement has left what it was calibrated for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.errors import CalibrationError, MissingTemperature
from hingeline_calibration.lsq import fit_linear
from hingeline_calibration.still import Reading
from hingeline_calibration.tempco import Tempco

LEAST_SPAN_C = 3.0
"""Least span of temperatures for a coefficient; common practice, no source."""
OLD_DATUM_H = 12.0
"""A datum older than this is called old; common practice, no source."""
AHEAD_H = 0.25
"""A date further ahead of the clock than this tells that the clock was set back; common practice, no source."""
TELLING_DEG = 0.05
"""Temperature's share of an uncertainty from which on a caution is given; common practice, no source."""


def fit_tempco(readings: Sequence[Reading]) -> Tempco:
    """Temperature coefficient of the bias from a sensor left on one spot at two or more temperatures.

    Parameters
    ----------
    readings
        Still readings of one attitude: the sensor is not moved in between.

    Raises
    ------
    MissingTemperature
        A reading has none.
    CalibrationError
        The temperatures span less than `LEAST_SPAN_C`.

    Notes
    -----
    Each axis alone: counts = a + k (T - T̄), weighted by the readings' variances. A change of the scale with
    temperature can't be told from one of the bias in one attitude and is counted as such.
    """
    temperatures = _known_temperatures(readings)
    span_c = float(np.ptp(temperatures))
    if span_c < LEAST_SPAN_C:
        raise CalibrationError(
            f"temperatures over {span_c:.1f} °C, expected at least {LEAST_SPAN_C:g} °C",
            "Take a reading cold and one warm, the sensor left in its place",
        )
    design = np.stack([np.ones(len(readings)), temperatures - temperatures.mean()], axis=1)
    slopes, deviations = np.zeros(3), np.zeros(3)
    for axis in range(3):
        counts = [reading.mean_counts[axis] for reading in readings]
        noise = [np.sqrt(reading.covariance_counts2[axis, axis]) for reading in readings]
        fit = fit_linear(design, counts, noise)
        slopes[axis], deviations[axis] = fit.values[1], fit.deviations[1] * max(1.0, fit.residual_sd)
    return Tempco(slopes, deviations, True)


def _known_temperatures(readings: Sequence[Reading]) -> Array:
    known = [reading.temperature_c for reading in readings if reading.temperature_c is not None]
    if len(known) < len(readings):
        raise MissingTemperature(
            f"{len(readings) - len(known)} of {len(readings)} readings without temperature, expected one in each",
            "Use a chip with a thermometer; without one warm up for 15 minutes and take the datum again",
        )
    return np.array(known)


@dataclass(frozen=True)
class WarmUp:
    """How a chip warms up: T(t) = final - rise · exp(-t / time constant)."""

    final_c: float
    rise_c: float
    time_constant_s: float

    def settled_after_s(self, within_c: float) -> float:
        """Time from the first reading until the chip is this near its final temperature."""
        return max(0.0, self.time_constant_s * float(np.log(max(abs(self.rise_c) / within_c, 1.0))))


def warm_up(times_s: ArrayLike, temperatures_c: ArrayLike) -> WarmUp:
    """Fit the warm-up of a chip.

    Parameters
    ----------
    times_s, temperatures_c : (N,)
        Chip temperature over time from switching on, some 15 minutes, N at least 4.
    """
    times, temperatures = np.asarray(times_s, float), np.asarray(temperatures_c, float)
    times = times - times[0]

    def misses(unknowns: Array) -> Array:
        final, rise, log_constant = unknowns
        return np.asarray(final - rise * np.exp(-times / np.exp(log_constant)) - temperatures)

    from scipy.optimize import least_squares  # takes a fifth of a second to import, and few need it

    first = [temperatures[-1], temperatures[-1] - temperatures[0], np.log(times[-1] / 3)]
    final, rise, log_constant = least_squares(misses, first, x_scale="jac").x
    return WarmUp(float(final), float(rise), float(np.exp(log_constant)))


def dated_ahead(what: str, date: str, now: str) -> tuple[str, ...]:
    """What to say of something that bears a later date than the time now, both ISO 8601; nothing where it doesn't."""
    ahead_h = -_age_h(date, now)
    if ahead_h <= AHEAD_H:
        return ()
    return (
        f"the {what} is dated {date}, {ahead_h:.1f} hours after now by this computer's clock, which was set back: its "
        "age is unknown; set the clock right, and take it again if in doubt",
    )


def _age_h(date: str, now: str) -> float:
    return (datetime.fromisoformat(now) - datetime.fromisoformat(date)).total_seconds() / 3600


def cautions(
    calibration: Calibration, temperature_c: float | None, datum: Datum | None = None, now: str | None = None
) -> tuple[str, ...]:
    """What a user should know before trusting a measurement; nothing when all is as calibrated.

    Parameters
    ----------
    calibration, temperature_c
        The sensor's, and its chip's temperature now.
    datum, now
        The datum in use, and the time, ISO 8601.
    """
    said = []
    if temperature_c is not None and calibration.temperature_c is not None:
        away_c = temperature_c - calibration.temperature_c
        deviation_g_per_c = max(calibration.tempco.deviation_counts_per_c.tolist()) / calibration.counts_per_g
        tilt_deg = math.degrees(deviation_g_per_c) * abs(away_c)
        if tilt_deg > TELLING_DEG:
            reach_deg = COVERAGE_FACTOR * tilt_deg
            said.append(
                f"{calibration.sensor_id} is {abs(away_c):.1f} °C {'warmer' if away_c > 0 else 'colder'} than when "
                f"calibrated: uncertain by ±{reach_deg:.2f}°; warm up and take datum and neutral again, or "
                "calibrate warm"
            )
    if datum is not None and now is not None:
        age_h = _age_h(datum.date, now)
        if age_h > OLD_DATUM_H:
            said.append(f"the datum is {age_h:.0f} hours old; lay the sensors on the flat and take it again")
        said += dated_ahead("datum", datum.date, now)
    return tuple(said)
