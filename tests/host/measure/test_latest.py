"""What is shown of a sensor at this moment: half a second at rest, a tenth on the move."""

import numpy as np
import pytest

from hingeline.device.samples import Sample
from hingeline.measure.latest import Latest

LINES_HZ = 50


def latest_of(count, counts=lambda number: (float(number), 0.0, 0.0)):
    latest = Latest()
    for number in range(count):
        latest.push(Sample("s", number / LINES_HZ, counts(number), 4, 20.0 + number, number))
    return latest


NOISE = np.random.default_rng(7).normal(0, 30, (2000, 3))
"""Of lines, in counts: 30 of 16384 are 1.8 mg, those of an MPU-6050 (PS-MPU-6000A, 6.2)."""


@pytest.mark.parametrize(("moving", "lines"), [(False, 26), (True, 6)])
def test_the_mean_is_of_the_last_half_second_or_tenth(moving, lines):
    reading = latest_of(100, lambda number: tuple(NOISE[number])).average(moving)
    assert reading.lines == lines
    assert reading.mean_counts == pytest.approx(NOISE[100 - lines : 100].mean(axis=0))


@pytest.mark.parametrize("turned_deg", [1.0, 11.0])
def test_a_mean_of_two_places_is_never_shown_as_a_rest(turned_deg):
    """A servo steps: a tenth of a second later what is shown lies within its ± of the new place, and is 1 g long."""
    turned = np.radians(turned_deg)
    places = 16384 * np.array([[0.0, 0.0, 1.0], [0.0, np.sin(turned), np.cos(turned)]])
    latest, off = Latest(), []
    for number in range(120):
        latest.push(Sample("s", number / LINES_HZ, tuple(places[int(number >= 100)] + NOISE[number]), 4, None, number))
        if number >= 105:
            reading = latest.average(moving=False)
            off.append((reading.mean_counts - places[1]) / np.sqrt(np.diag(reading.covariance_counts2)))
            assert np.linalg.norm(reading.mean_counts) == pytest.approx(16384, rel=0.004)
    assert np.abs(off).max() < 5


def test_noise_alone_is_no_step():
    latest = Latest()
    shown = []
    for number, line in enumerate(NOISE):
        latest.push(Sample("s", number / LINES_HZ, tuple(line), 4, None, number))
        if number > 30:
            shown.append(latest.average(moving=False).lines)
    assert shown.count(6) <= 0.003 * len(shown)


def test_two_lines_make_a_mean_and_one_does_not():
    assert latest_of(0).average(moving=False) is None
    assert latest_of(0).temperature_c is None
    assert latest_of(1).average(moving=False) is None
    assert latest_of(2).average(moving=False).mean_counts[0] == 0.5
    assert latest_of(2).temperature_c == 21.0


def test_it_begins_anew():
    latest = latest_of(100)
    latest.clear()
    assert latest.average(moving=False) is None


def test_its_noise_is_estimated_every_two_seconds_and_when_it_averages_over_another_time():
    noise = np.random.default_rng(1).standard_normal((400, 3))
    latest = Latest()
    estimates = {}
    for number, line in enumerate(noise):
        latest.push(Sample("s", number / LINES_HZ, tuple(line), 4, None, number))
        if number >= 50 and (reading := latest.average(moving=False)):
            estimates.setdefault(reading.covariance_counts2.tobytes(), number / LINES_HZ)
    begins_s = [*estimates.values()]
    assert np.diff(begins_s) == pytest.approx(2.0, abs=0.05)
    still = latest.average(moving=False)
    assert latest.average(moving=True).covariance_counts2[0, 0] != still.covariance_counts2[0, 0]
