"""Noise and drift of sensors that lie untouched."""

from dataclasses import replace

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, NOISE_G

from hingeline.checks.stability import static_recording
from hingeline.device.doctor.listening import noise_ug_per_rthz
from hingeline.device.samples import Sample, SensorInfo
from hingeline.errors import NotMeasurable
from hingeline.procedures.procedure import Taken
from hingeline.procedures.untouched import Untouched
from hingeline_calibration.noise import WHITE_S

SENSOR = "b-left"


INFO = SensorInfo(SENSOR, "board", "port", "mpu6050", 0, 104, int(COUNTS_PER_G), 200, 44, "relative", "ok")


def lying():
    """Yield the samples of a sensor on its base for 20 s that leans by 0.01° a second; every tenth line is lost."""
    rng = np.random.default_rng(5)
    for number in range(1000):
        lean = np.radians(0.01 * number / LINES_HZ)
        up = np.array([0.0, np.sin(lean), np.cos(lean)]) + rng.normal(0.0, NOISE_G, 3)
        if number % 10 != 9:
            yield Sample(SENSOR, number / LINES_HZ, tuple(COUNTS_PER_G * up), 4, None, number)


def test_doctor_and_noise_tell_one_density_of_one_sensor():
    """Each had its own estimator; one counted the drift as noise, and they differed by a factor."""
    untouched = Untouched((SENSOR,), for_s=20.0)
    for second in range(20):
        samples = tuple(sample for sample in lying() if int(sample.time_s) == second)
        untouched = untouched.after(Taken({}, {SENSOR: samples})).procedure
    assert untouched.step is None
    standing = static_recording(INFO, untouched.tracks[SENSOR])
    by_axis = noise_ug_per_rthz(list(lying()), COUNTS_PER_G)
    assert standing.density_ug_per_rthz == pytest.approx(np.sqrt(np.mean(np.square(by_axis))), rel=1e-9)
    assert by_axis == pytest.approx([1e6 * NOISE_G / np.sqrt(LINES_HZ / 2)] * 3, rel=4 / np.sqrt(2 * 20 / WHITE_S))


def recording_of(counts, temperatures_c=None, every_s=1 / LINES_HZ):
    temperatures_c = temperatures_c or [None] * len(counts)
    lines = [
        Sample(SENSOR, number * every_s, tuple(line), 4, celsius, number)
        for number, (line, celsius) in enumerate(zip(counts, temperatures_c, strict=True))
    ]
    return static_recording(INFO, lines)


def leaning(deg):
    """Up, leaned by an angle line by line (N,), without noise."""
    lean = np.radians(deg)
    return COUNTS_PER_G * np.stack([np.zeros_like(lean), np.sin(lean), np.cos(lean)], axis=1)


def test_drift_is_from_the_first_ten_seconds_to_the_last():
    """A lean of 0.01° a second for 40 s: the middles of the two are 30 s apart."""
    recording = recording_of(leaning(0.01 * np.arange(2000) / LINES_HZ))
    assert len(recording.readings) == 4
    assert recording.drift_deg == pytest.approx(0.3, abs=1e-3)


@pytest.mark.parametrize(("step_deg", "is_moved"), [(0.19, False), (0.21, True)])
def test_who_turns_by_a_fifth_of_a_degree_within_a_second_was_touched(step_deg, is_moved):
    course = np.where(np.arange(500) < 250, 0.0, step_deg)
    if not is_moved:
        recording_of(leaning(course))
        return
    with pytest.raises(NotMeasurable, match=r"turned by 0\.2° within a second, expected it untouched"):
        recording_of(leaning(course))


def test_seven_lines_are_too_few():
    assert recording_of(leaning(np.zeros(8)))
    with pytest.raises(NotMeasurable, match="7 lines of sensor b-left came, expected many"):
        recording_of(leaning(np.zeros(7)))


@pytest.mark.parametrize(("rise_c", "warms"), [(0.45, False), (0.6, True)])
def test_a_chip_that_warms_by_less_than_half_a_degree_is_warm(rise_c, warms):
    """Over a minute, read every ten seconds; a chip without a thermometer tells nothing."""
    temperatures = list(20 + rise_c * 1.2 * (1 - np.exp(-np.arange(3000) / LINES_HZ / 30)) / (1 - np.exp(-2)))
    recording = recording_of(leaning(np.zeros(3000)), temperatures)
    assert (recording.warming is not None) is warms
    assert recording_of(leaning(np.zeros(3000))).warming is None


def test_the_datasheets_noise_is_the_root_mean_square_of_its_axes():
    """An ADXL345's 290, 290 and 430 µg/√Hz."""
    recording = recording_of(leaning(np.zeros(50)))
    recording = replace(recording, info=replace(INFO, chip="adxl345"))
    assert recording.datasheet_ug_per_rthz == pytest.approx(343, abs=0.5)
