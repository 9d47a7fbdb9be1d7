"""What temperature does to a bias, measured or by the chip's datasheet, and how a chip warms up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.errors import CalibrationError, MissingTemperature
from hingeline_calibration.records import array_of, plain, table_of
from hingeline_calibration.still import Reading

LEAST_SPAN_C = 3.0
"""Least span of temperatures for a coefficient; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Tempco:
    """Change of the bias with the chip's temperature (3,), and its standard deviation (3,).

    Where it was not measured it is zero within the datasheet's limits.
    """

    counts_per_c: Array
    deviation_counts_per_c: Array
    measured: bool

    @classmethod
    def of_chip(cls, chip: str) -> Tempco:
        """What the datasheet says: zero within its limits, a rectangular distribution (GUM 4.3.7)."""
        facts = chip_facts(chip)
        limits = np.array(facts.tempco_mg_per_c) * 1e-3 * facts.counts_per_g
        return cls(np.zeros(3), limits / np.sqrt(3), False)

    def to_dict(self) -> dict[str, object]:
        """Plain JSON-able values."""
        return dict(plain(self))

    @classmethod
    def read(cls, value: object) -> Tempco:
        """The coefficient that `to_dict` wrote. Raises as the functions of `records`."""
        fields = table_of(value, lambda field: field)
        deviation = array_of(fields["deviation_counts_per_c"], 3)
        return cls(array_of(fields["counts_per_c"], 3), deviation, fields["measured"] is True)


def fit_tempco(readings: Sequence[Reading], repeat_counts: float) -> Tempco:
    """Temperature coefficient of the bias from a sensor left on one spot, unmoved, at two or more temperatures.

    `repeat_counts` is the standard deviation to which the chip repeats a reading, beside noise.

    Raises
    ------
    MissingTemperature
        A reading has none.
    CalibrationError
        The temperatures span less than `LEAST_SPAN_C`.

    Notes
    -----
    Each axis alone: counts = a + k (T - T̄), weighted by the readings' variances; the deviation of k grows where they
    scatter by more (GUM H.3). A change of the scale with temperature can't be told from one of the bias in one
    attitude and is counted as such.
    """
    temperatures = _known_temperatures(readings)
    span_c = float(np.ptp(temperatures))
    if span_c < LEAST_SPAN_C:
        raise CalibrationError(
            f"temperatures over {span_c:.1f} °C, expected at least {LEAST_SPAN_C:g} °C",
            "Take a reading cold and one warm, the sensor left in its place",
        )
    warmer = temperatures - temperatures.mean()
    counts = np.array([reading.mean_counts for reading in readings])
    weights = 1 / np.sqrt([np.diag(reading.covariance_counts2) + repeat_counts**2 for reading in readings])
    slopes, deviations = np.zeros(3), np.zeros(3)
    for axis in range(3):
        line, covariance = np.polyfit(warmer, counts[:, axis], 1, w=weights[:, axis], cov="unscaled")
        misses = weights[:, axis] * (counts[:, axis] - np.polyval(line, warmer))
        scatter = math.sqrt(float(misses @ misses) / max(len(readings) - 2, 1))
        slopes[axis], deviations[axis] = line[0], math.sqrt(covariance[0, 0]) * max(1.0, scatter)
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
    """Fit the warm-up of a chip to its temperatures (N,) at times (N,) from switching on, N at least 4."""
    times, temperatures = np.asarray(times_s, float), np.asarray(temperatures_c, float)
    times = times - times[0]

    def misses(unknowns: Array) -> Array:
        final, rise, log_constant = unknowns
        return np.asarray(final - rise * np.exp(-times / np.exp(log_constant)) - temperatures)

    from scipy.optimize import least_squares  # takes a fifth of a second to import, and few need it

    first = [temperatures[-1], temperatures[-1] - temperatures[0], np.log(times[-1] / 3)]
    final, rise, log_constant = least_squares(misses, first, x_scale="jac").x
    return WarmUp(float(final), float(rise), float(np.exp(log_constant)))
