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

    The autocorrelations of the M axes of `values` (N, M), which share one filter, are pooled. They are summed up to a
    self-consistent window W (Sokal). The sample's own mean takes 1 - (2W + 1)/N of the sum away (Wolff, Comput. Phys.
    Commun. 156, 2004, eq. 49; from memory).
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
    """Covariance (M, M) of the mean of `values` (N, M), N at least 2, correlation in time counted.

    Notes
    -----
    Variance s²τ/(N - τ), τ the `correlation_length`: the sample variance of a correlated series is short by 1 - τ/N.
    A mean can't average away all of a quantisation step q: with Gaussian noise σ it is wrong by at most
    (q/π) exp(-2π²σ²/q²) (Widrow & Kollár, Quantization Noise, 2008; from memory); its mean square is half the square.
    """
    series = np.asarray(values, float)
    count, axes = series.shape
    sample = np.cov(series.T, bias=True).reshape(axes, axes)
    tau = min(correlation_length(series), count / 2)
    covariance = np.asarray(sample * tau / (count - tau))
    if step:
        residue = 0.5 * (step / np.pi) ** 2 * np.exp(-4 * np.pi**2 * np.diag(sample) / step**2)
        covariance = covariance + np.diag(residue)
    return covariance


def allan_deviation(frequencies: ArrayLike, averaging: int, *, overlapping: bool = True) -> float:
    """Allan deviation, in the unit of the values, of equally spaced values (N,) averaged m at a time.

    Overlapping averages begin at every value instead of every m-th: the better estimate from the same data. The source
    speaks of fractional frequencies: NIST SP 1065, eqs. 9 (plain) and 11 (overlapping), phases the cumulated values.
    Raises `ValueError` of fewer than 2m values.
    """
    series = np.asarray(frequencies, float)
    if averaging < 1 or series.size < 2 * averaging:
        raise ValueError(f"averaging over {averaging} of {series.size} values, expected at least twice as many values")
    phases = np.concatenate(([0.0], np.cumsum(series - series.mean())))
    second = phases[2 * averaging :] - 2 * phases[averaging:-averaging] + phases[: -2 * averaging]
    if not overlapping:
        second = second[::averaging]
    return float(np.sqrt(np.mean(second**2) / 2) / averaging)


@dataclass(frozen=True, eq=False)
class Stability:
    """Overlapping Allan deviations (K,) of a still recording, in its unit, over averaging times (K,) in octaves."""

    times_s: Array
    deviations: Array

    @property
    def best_time_s(self) -> float:
        """Averaging time of the least deviation; longer averages gather drift."""
        return float(self.times_s[np.argmin(self.deviations)])


def stability(values: ArrayLike, interval_s: float) -> Stability:
    """Allan deviation of equally spaced values (N,), N at least 8, at octaves up to a quarter of their length."""
    series = np.asarray(values, float)
    octaves = 2 ** np.arange(int(np.log2(series.size / 4)) + 1)
    deviations = np.array([allan_deviation(series, int(m)) for m in octaves])
    return Stability(octaves * interval_s, deviations)


def noise_density(values: ArrayLike, interval_s: float) -> Array:
    """Density (M,) of the white noise of equally spaced values (N, M) at rest, N at least 2, in their unit per √Hz.

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

    Each value is numbered (N,) by its place, modulo `period`.
    """
    places = np.concatenate(([0], np.cumsum(np.diff(np.asarray(numbers)) % period)))
    every = np.arange(places[-1] + 1)
    return np.stack([np.interp(every, places, axis) for axis in np.asarray(values, float).T], axis=1)
