"""Noise: Allan deviations against NIST SP 1065 and allantools, and the variance of a correlated mean."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import lfilter

from hingeline_calibration.noise import (
    WHITE_S,
    allan_deviation,
    correlation_length,
    covariance_of_mean,
    noise_density,
    stability,
    without_gaps,
)

NINE = (892, 809, 823, 798, 671, 644, 883, 903, 677)
"""NIST SP 1065 (2008), table 30, p. 107: nine frequencies, deviations to seven digits (read second-hand)."""


def thousand() -> list[float]:
    """NIST SP 1065 (2008), table 31, p. 108, to seven digits (second-hand): n(i+1) = 16807 n(i) mod 2³¹ - 1."""
    numbers = [1234567890]
    while len(numbers) < 1000:
        numbers.append(16807 * numbers[-1] % 2147483647)
    return [number / 2147483647 for number in numbers]


@pytest.mark.parametrize(
    ("averaging", "overlapping", "published"),
    [(1, False, 91.22945), (2, False, 115.8082), (2, True, 85.95287)],
)
def test_nine_points_of_sp_1065(averaging: int, overlapping: bool, published: float) -> None:
    assert allan_deviation(NINE, averaging, overlapping=overlapping) == pytest.approx(published, rel=1e-6)


@pytest.mark.parametrize(
    ("averaging", "overlapping", "published"),
    [
        (1, False, 0.2922319),
        (10, False, 0.09965736),
        (100, False, 0.03897804),
        (10, True, 0.09159953),
        (100, True, 0.03241343),
    ],
)
def test_thousand_points_of_sp_1065(averaging: int, overlapping: bool, published: float) -> None:
    assert allan_deviation(thousand(), averaging, overlapping=overlapping) == pytest.approx(published, rel=2e-7)


def test_allantools_agrees() -> None:
    import allantools

    series = np.random.default_rng(1).standard_normal(3000).cumsum() * 0.01 + np.random.default_rng(2).standard_normal(
        3000
    )
    factors = [1, 2, 4, 8, 16, 32, 64, 128, 256, 512]
    _, plain, _, _ = allantools.adev(series, rate=1.0, data_type="freq", taus=factors)
    _, overlapping, _, _ = allantools.oadev(series, rate=1.0, data_type="freq", taus=factors)
    assert [allan_deviation(series, m, overlapping=False) for m in factors] == pytest.approx(plain, rel=1e-9)
    assert [allan_deviation(series, m) for m in factors] == pytest.approx(overlapping, rel=1e-9)


def test_best_time_is_where_white_noise_meets_drift() -> None:
    """White noise N/√τ and a random walk K√(τ/3) meet at τ = √3 N/K (IEEE Std 952, annex C; from memory).

    Here at 8.7 s: the octaves on either side of it are 6.4 and 12.8 s.
    """
    walk = 0.02
    for seed in range(5):
        rng = np.random.default_rng(seed)
        series = rng.standard_normal(20000) + walk * rng.standard_normal(20000).cumsum()
        assert stability(series, 0.1).best_time_s in (pytest.approx(6.4), pytest.approx(12.8))


def test_too_short_a_series_is_refused() -> None:
    with pytest.raises(ValueError, match="twice as many"):
        allan_deviation(NINE, 5)


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.6])
@pytest.mark.parametrize("count", [25, 100])
def test_variance_of_a_correlated_mean(rho: float, count: int) -> None:
    """First-order autoregression: var of the mean of N is [(1+ρ)/(1-ρ) - 2ρ(1-ρᴺ)/(N(1-ρ)²)]/N (textbook; from memory).

    Short series may be counted a little too noisy, never too quiet.
    """
    rng = np.random.default_rng([7, count])
    noise = rng.standard_normal((600, count + 100, 3)) * np.sqrt(1 - rho**2)
    series = lfilter([1.0], [1.0, -rho], noise, axis=1)[:, 100:]
    stated = np.mean([np.trace(covariance_of_mean(values)) / 3 for values in series])
    true = ((1 + rho) / (1 - rho) - 2 * rho * (1 - rho**count) / (count * (1 - rho) ** 2)) / count
    assert 0.97 <= stated / true <= 1.25


def test_white_noise_counts_every_reading() -> None:
    """One scatters by 0.22: the mean of 200 is known to 0.016. It may be an eighth too long, never too short."""
    rng = np.random.default_rng(8)
    length = np.mean([correlation_length(rng.standard_normal((50, 3))) for _ in range(200)])
    assert 1 - 4 * 0.016 <= length <= 1.125 + 4 * 0.016


def test_a_chip_quieter_than_its_step_is_not_taken_for_perfect() -> None:
    """All readings alike: the error is a sawtooth of the truth, whose first harmonic has the rms step/(π√2).

    Noise of two steps drowns it: the harmonic falls by exp(-2π²·4).
    """
    stated = covariance_of_mean(np.full((50, 3), 7.0), step=1.0)
    assert np.sqrt(np.diag(stated)) == pytest.approx(1 / (np.pi * np.sqrt(2)), rel=1e-6)
    noisy = np.random.default_rng(9).standard_normal((50, 3)) * 2
    assert covariance_of_mean(noisy, 1.0) == pytest.approx(covariance_of_mean(noisy), rel=1e-6)


def test_noise_density_is_that_of_the_white_noise_alone() -> None:
    """White noise of 400 a √Hz in lines of 20 ms has 400 √25 a line; a slow drift twice as wide is not in it."""
    rng = np.random.default_rng(10)
    count, interval_s = 6000, 0.02
    white = 400 / np.sqrt(2 * interval_s) * rng.standard_normal((count, 3))
    drifting = white + np.linspace(0, 4000, count)[:, None]
    freedom = count * interval_s / WHITE_S
    assert noise_density(white, interval_s) == pytest.approx([400] * 3, rel=4 / np.sqrt(2 * freedom))
    assert noise_density(drifting, interval_s) == pytest.approx(noise_density(white, interval_s), rel=0.02)


def test_a_missing_value_lies_between_its_neighbours() -> None:
    filled = without_gaps([[1.0], [2.0], [4.0]], [254, 255, 1], 256)
    assert filled[:, 0].tolist() == [1.0, 2.0, 3.0, 4.0]
