"""Which lines of a movement count, by gravity's length and by speed: worked out by hand, lines without noise."""

from dataclasses import replace

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument, up_g

from hingeline.device.samples import Sample
from hingeline.measure.tracks import smoothed, track
from hingeline_calibration.still import summarise

NEUTRAL = summarise(np.arange(50) / LINES_HZ, COUNTS_PER_G * up_g(np.zeros(50)), [22.0] * 50)


def track_of(deflection_deg, length_g=1.0, temperatures_c=None):
    """The track of a surface, line by line (N,), gravity of a length of its own."""
    counts = COUNTS_PER_G * up_g(deflection_deg) * np.reshape(length_g, (-1, 1))
    lines = tuple(
        Sample("b-left", number / LINES_HZ, tuple(line), 4, temperatures_c and temperatures_c[number], number)
        for number, line in enumerate(counts)
    )
    return track(instrument("left"), NEUTRAL, lines)


@pytest.mark.parametrize(("deg_per_s", "is_steady"), [(38, True), (-38, True), (42, False), (-42, False)])
def test_faster_than_40_degrees_a_second_is_not_steady(deg_per_s, is_steady):
    """At 40 mm from the hinge 40°/s pull by r ω² = 19 mm/s², 2 mg (MODEL: circular motion)."""
    steady = track_of(deg_per_s * np.arange(50) / LINES_HZ).steady
    assert steady[10:-10].all() if is_steady else not steady[10:-10].any()


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("off_mg", "is_steady"), [(5.5, True), (6.5, False)])
def test_gravity_longer_or_shorter_by_6_milli_g_is_not_steady(sign, off_mg, is_steady):
    steady = track_of(np.zeros(50), 1 + sign * off_mg / 1000).steady
    assert steady.all() if is_steady else not steady.any()


@pytest.mark.parametrize(("off_mg", "is_steady"), [(9.5, True), (10.5, False)])
def test_the_noise_of_a_line_is_let_pass_four_times(off_mg, is_steady):
    """A line of 1 mg: 6 mg and four deviations."""
    lines = NEUTRAL.lines
    noisy = replace(NEUTRAL, covariance_counts2=np.eye(3) * (1e-3 * COUNTS_PER_G) ** 2 / lines)
    steady = replace(track_of(np.zeros(50), 1 + off_mg / 1000), line_covariance_g2=np.eye(3) * 1e-6).steady
    assert steady.all() if is_steady else not steady.any()
    counts = COUNTS_PER_G * up_g(np.zeros(2))
    samples = tuple(
        Sample("b-left", number / LINES_HZ, tuple(line), 4, None, number) for number, line in enumerate(counts)
    )
    assert track(instrument("left"), noisy, samples).line_covariance_g2 == pytest.approx(np.eye(3) * 1e-6)


def test_a_tenth_of_a_second_on_either_side_of_a_jolt_is_not_steady_either():
    length_g = np.ones(50)
    length_g[25] = 1.1
    assert np.flatnonzero(~track_of(np.zeros(50), length_g).steady).tolist() == list(range(20, 31))


def test_a_running_mean_is_of_the_lines_about_it_and_of_fewer_at_the_ends():
    """A fifth of a second at 50 lines a second: five lines before, five after."""
    impulse = np.zeros(31)
    impulse[15] = 11.0
    assert smoothed(impulse, np.arange(31) / LINES_HZ, 0.2) == pytest.approx(
        np.where(abs(np.arange(31) - 15) < 6, 1, 0)
    )
    at_start = np.zeros(31)
    at_start[0] = 6.0
    assert smoothed(at_start, np.arange(31) / LINES_HZ, 0.2)[:6] == pytest.approx(6 / np.arange(6, 12))
    assert smoothed(np.array([1.0, 3.0]), np.array([0.0, 1.0]), 0.2) == pytest.approx([1.0, 3.0])
    hours_later = smoothed(impulse, 7200 + np.arange(31) / LINES_HZ, 0.2)
    assert hours_later == pytest.approx(smoothed(impulse, np.arange(31) / LINES_HZ, 0.2))


def test_the_mean_of_chosen_lines_knows_its_noise_time_and_warmth():
    lines = track_of(np.linspace(0, 10, 50), temperatures_c=[20.0, 24.0] * 25)
    chosen = (lines.time_s >= 0.2) & (lines.time_s <= 0.5)
    mean = lines.gravity(chosen)
    assert (mean.time_s, mean.duration_s, mean.temperature_c) == (0.2, pytest.approx(0.3), pytest.approx(22.0))
    assert mean.vector_g == pytest.approx(up_g(np.linspace(0, 10, 50))[10:26].mean(axis=0))
    assert mean.covariance_g2 == pytest.approx(lines.line_covariance_g2 / 16)
