"""Noise honestly counted: the variance of a mean of correlated values, the Allan deviation, and the noise density."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array

WHITE_S = 0.3
"""Averaging time at which noise is white: above the chip's filter, below drift. Common practice, no source."""
_WINDOW_TIMES = 2.5
"""The sum of autocorrelations stops at this many times itself (Sokal, 1997: 5 of half of it; from memory)."""


def correlation_length(values: ArrayLike) -> float:
    """Values that carry as much as one independent value, 1 + 2 Σ ρ_k, at least 1.

    Parameters
    ----------
    values : (N, M)
        Series of M axes that share one filter; their autocorrelations are pooled.

    Notes
    -----
    Sum of the sample autocorrelations up to a self-consistent window W (Sokal). The sample's own mean takes
    1 - (2W + 1)/N of it away (Wolff, Comput. Phys. Commun. 156, 2004, eq. 49; from memory).
    """
    series = np.atleast_2d(np.asarray(values, float).T)
    series = series - series.mean(axis=1, keepdims=True)
    count = series.shape[1]
    power = np.abs(np.fft.rfft(series, 2 * count, axis=1)) ** 2
    covariance = np.fft.irfft(power, axis=1)[:, :count]
    alive = covariance[:, 0] > 0
    if not alive.any():
        return 1.0
    rho = (covariance[alive] / covariance[alive, :1]).mean(axis=0)
    sums = 2 * np.cumsum(rho) - 1
    beyond = np.flatnonzero(np.arange(count) >= _WINDOW_TIMES * sums)
    window = min(int(beyond[0]) if beyond.size else count, count // 4)
    return float(max(1.0, sums[window] / (1 - (2 * window + 1) / count)))


def covariance_of_mean(values: ArrayLike, step: float = 0.0) -> Array:
    """Covariance of the mean of N values of M axes, correlation in time counted.

    Parameters
    ----------
    values : (N, M)
        N at least 2, in any unit.
    step
        Quantisation step. What a mean can't average away when the noise is less than the step is added.

    Returns
    -------
    (M, M) array
        In the square of the unit of `values`.

    Notes
    -----
    Variance s²τ/(N - τ), τ the `correlation_length`: the sample variance of a correlated series is short
    by 1 - τ/N. The mean of a quantised signal with Gaussian noise σ is wrong by at most (q/π) exp(-2π²σ²/q²)
    (Widrow & Kollár, Quantization Noise, 2008; from memory); its mean square is half the square.
    """
    series = np.asarray(values, float)
    count, axes = series.shape
    sample = np.cov(series.T, bias=True).reshape(axes, axes)
    tau = min(correlation_length(series), count / 2)
    residue = (
        0.5 * (step / np.pi) ** 2 * np.exp(-4 * np.pi**2 * np.diag(sample) / step**2)
        if step
        else np.zeros(axes)
    )
    return np.asarray(sample * tau / (count - tau) + np.diag(residue))


def allan_deviation(frequencies: ArrayLike, averaging: int, *, overlapping: bool = True) -> float:
    """Allan deviation of a series at one averaging factor.

    Parameters
    ----------
    frequencies : (N,)
        Equally spaced (in the language of the source: fractional frequencies).
    averaging
        Values in one average, m.
    overlapping
        Use every start instead of every m-th: the better estimate from the same data.

    Returns
    -------
    float
        In the unit of the values.

    Raises
    ------
    ValueError
        Fewer than 2m values.

    Notes
    -----
    NIST SP 1065, eqs. 9 (plain) and 11 (overlapping), with phases as the cumulated values.
    """
    series = np.asarray(frequencies, float)
    if averaging < 1 or series.size < 2 * averaging:
        raise ValueError(
            f"averaging over {averaging} of {series.size} values, expected at least twice as many values"
        )
    phases = np.concatenate(([0.0], np.cumsum(series - series.mean())))
    second = phases[2 * averaging :] - 2 * phases[averaging:-averaging] + phases[: -2 * averaging]
    if not overlapping:
        second = second[::averaging]
    return float(np.sqrt(np.mean(second**2) / 2) / averaging)


@dataclass(frozen=True, eq=False)
class Stability:
    """Allan deviation of a still recording over averaging time.

    Attributes
    ----------
    times_s : (K,)
        Averaging times, octaves.
    deviations : (K,)
        Overlapping Allan deviations in the unit of the recording.
    """

    times_s: Array
    deviations: Array

    @property
    def best_time_s(self) -> float:
        """Averaging time of the least deviation; longer averages gather drift."""
        return float(self.times_s[np.argmin(self.deviations)])


def stability(values: ArrayLike, interval_s: float) -> Stability:
    """Allan deviation of a recording at octaves up to a quarter of its length.

    Parameters
    ----------
    values : (N,)
        Equally spaced, N at least 8.
    interval_s
        Time from one to the next.
    """
    series = np.asarray(values, float)
    octaves = 2 ** np.arange(int(np.log2(series.size / 4)) + 1)
    deviations = np.array([allan_deviation(series, int(m)) for m in octaves])
    return Stability(octaves * interval_s, deviations)


def noise_density(values: ArrayLike, interval_s: float) -> Array:
    """Density of the white noise of a still recording, one-sided, by axis (M,), in its unit per √Hz.

    Parameters
    ----------
    values : (N, M)
        Equally spaced, N at least 2.
    interval_s
        Time from one to the next.

    Notes
    -----
    White noise of density n has the Allan deviation σ(τ) = n/√(2τ) (IEEE Std 952, annex C, one-sided; from memory),
    taken at τ = `WHITE_S`: drift and what shakes more slowly don't count.
    """
    series = np.asarray(values, float)
    averaging = min(max(1, round(WHITE_S / interval_s)), len(series) // 2)
    deviations = [allan_deviation(axis, averaging) for axis in series.T]
    return np.asarray(np.array(deviations) * np.sqrt(2 * averaging * interval_s))


def without_gaps(values: ArrayLike, numbers: ArrayLike, period: int) -> Array:
    """The recording (K, M) of which some values (N, M) came: one that is missing lies between its neighbours.

    Parameters
    ----------
    numbers : (N,)
        The place of each value, modulo `period`.
    """
    places = np.concatenate(([0], np.cumsum(np.diff(np.asarray(numbers)) % period)))
    every = np.arange(places[-1] + 1)
    return np.stack([np.interp(every, places, axis) for axis in np.asarray(values, float).T], axis=1)
