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


@pytest.mark.parametrize(("moving", "lines"), [(False, 26), (True, 6)])
def test_the_mean_is_of_the_last_half_second_or_tenth(moving, lines):
    """Lines are numbered: the mean of the last N of 100 is 99 - (N - 1)/2."""
    reading = latest_of(100).average(moving)
    assert reading.lines == lines
    assert reading.mean_counts[0] == pytest.approx(99 - (lines - 1) / 2)


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
