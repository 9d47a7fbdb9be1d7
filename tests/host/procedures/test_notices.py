"""What a person hears of the sensors while a procedure waits."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
from tests.host.checks.conftest import COUNTS_PER_G, instrument

from hingeline.device.samples import Sample, SensorFault
from hingeline.procedures.centring import RESTLESS
from hingeline.procedures.notices import RESTLESS_S, Notices
from hingeline_calibration.still import summarise
from hingeline_calibration.temperature import Tempco


def test_who_never_leaves_it_alone_is_told_once():
    """Moves that follow each other every 0.6 s leave no rest of 0.7 s."""
    said = []
    notices = Notices(said.append, said.append)

    def wait(from_s: float, until_s: float, *, moving: bool) -> None:
        for time_s in np.arange(from_s, until_s, 0.02):
            notices.notice_motion(moving, float(time_s), RESTLESS)

    wait(0.0, RESTLESS_S - 1, moving=True)
    wait(RESTLESS_S - 1, RESTLESS_S, moving=False)
    assert said == []
    wait(RESTLESS_S, 3 * RESTLESS_S, moving=True)
    wait(3 * RESTLESS_S, 3 * RESTLESS_S + 1, moving=False)
    wait(3 * RESTLESS_S + 1, 6 * RESTLESS_S, moving=True)
    assert len(said) == 1
    assert "--hold" in said[0]


SENSOR = instrument("left")


def notices(said):
    return Notices(said.append, lambda text: said.append(f"caution: {text}"))


def capture(frozen=()):
    return SimpleNamespace(frozen=frozenset(frozen), sensor_ids=frozenset({"a", "b"}))


def test_a_sensor_that_is_lost_or_back_is_told_each_time_if_it_is_one_of_the_step():
    said = []
    told = notices(said)
    for time_s, sensor_id, code in ((0, "a", "lost"), (2, "a", "back"), (4, "elsewhere", "lost"), (6, "a", "lost")):
        told.notice(SensorFault(sensor_id, time_s, code, 5), capture())
    lost, back = "Sensor a does not answer: check its wires.", "Sensor a answers again."
    assert said == [lost, back, lost]


def test_a_frozen_sensor_is_told_once_and_when_it_measures_again():
    said = []
    told = notices(said)
    sample = Sample("a", 0.0, (0.0, 0.0, 1.0), 4, None, 0)
    for frozen in ((), ("a",), ("a",), ("a", "b"), ("b",), ()):
        told.notice(sample, capture(frozen))
    stuck, again = "Sensor {} repeats one reading: it is frozen, it measures nothing.", "Sensor {} measures again."
    assert said == [stuck.format("a"), stuck.format("b"), again.format("a"), again.format("b")]


def test_a_temperature_is_cautioned_of_once_and_of_sensors_in_use_alone():
    said = []
    told = notices(said)
    calibration = replace(SENSOR.calibration, temperature_c=20.0, tempco=Tempco(np.zeros(3), np.full(3, 8.0), False))
    told.heed([calibration], "2026-01-02T00:00:00+00:00")
    said.clear()
    told.notice_temperatures({SENSOR.sensor_id: 20.1, "elsewhere": 60.0})
    assert said == []
    for _ in range(2):
        told.notice_temperatures({SENSOR.sensor_id: 60.0})
    assert len(said) == 1
    assert SENSOR.sensor_id in said[0]


def test_a_calibration_is_heeded_once():
    said = []
    told = notices(said)
    for _ in range(2):
        told.heed([SENSOR.calibration.marked_poor(("noise",))], "2026-01-02T00:00:00+00:00")
    assert len(said) == 1
    assert said[0].startswith("caution: ")


def test_gravity_that_is_not_1_g_is_cautioned_of_once():
    said = []
    told = notices(said)
    told.heed([SENSOR.calibration], "2026-01-02T00:00:00+00:00")
    said.clear()
    times_s = np.arange(50) / 50
    for longer, count in ((1.0, 0), (1.02, 1), (1.02, 1)):
        window = summarise(times_s, np.tile([0.0, 0.0, longer * COUNTS_PER_G], (50, 1)), [None] * 50)
        told.notice_readings({SENSOR.sensor_id: window, "elsewhere": window})
        assert len(said) == count
