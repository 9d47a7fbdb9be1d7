"""Noise and drift of sensors that lie untouched."""

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, NOISE_G

from hingeline.checks.stability import static_recording
from hingeline.device.doctor.listening import noise_ug_per_rthz
from hingeline.device.samples import Sample, SensorInfo
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
