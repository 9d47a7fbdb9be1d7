"""The noise of a chip model against the textbook variance and correlation of a one-pole filtered white noise."""

import math

import numpy as np
import pytest

from hingeline_virtual.chips.noise import Noise

DENSITY_G = np.array([400e-6, 220e-6, 90e-6])
RATE_HZ = 200.0
COUNT = 40_000


def drawn(filter_hz: float, seed: tuple[int, ...] = (1,)) -> np.ndarray:
    noise = Noise(DENSITY_G, filter_hz, RATE_HZ, seed)
    return np.array([noise.at(index) for index in range(COUNT)])


@pytest.mark.parametrize("filter_hz", [5.0, 22.0, 44.0, 260.0])
def test_variance_is_density_squared_times_noise_bandwidth(filter_hz):
    # The noise bandwidth of a one-pole filter is f π/2 (Horowitz & Hill, The Art of Electronics; from memory).
    correlation = math.exp(-2 * math.pi * filter_hz / RATE_HZ)
    independent = COUNT * (1 - correlation) / (1 + correlation)
    expected = DENSITY_G**2 * filter_hz * math.pi / 2
    np.testing.assert_allclose(drawn(filter_hz).var(axis=0), expected, rtol=5 * math.sqrt(2 / independent))


@pytest.mark.parametrize("lag", [1, 2, 3])
def test_correlation_decays_as_the_filters_impulse_response(lag):
    values = drawn(22.0)
    got = (values[lag:] * values[:-lag]).mean(axis=0) / values.var(axis=0)
    np.testing.assert_allclose(got, math.exp(-2 * math.pi * 22 * lag / RATE_HZ), atol=5 / math.sqrt(COUNT))


def test_axes_are_independent():
    correlation = np.corrcoef(drawn(44.0).T)
    np.testing.assert_allclose(correlation, np.eye(3), atol=5 / math.sqrt(COUNT))


def test_same_seed_gives_the_same_noise_wherever_it_is_entered():
    whole = drawn(5.0)
    noise = Noise(DENSITY_G, 5.0, RATE_HZ, (1,))
    for index in (39_000, 17, 512, 511, 20_000):
        np.testing.assert_array_equal(noise.at(index), whole[index])


def test_another_seed_gives_another_noise():
    assert abs(np.corrcoef(drawn(44.0)[:, 0], drawn(44.0, (2,))[:, 0])[0, 1]) < 5 / math.sqrt(COUNT)
