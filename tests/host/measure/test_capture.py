"""Readings: of a frozen sensor there are none, a user may confirm one, or take the last one back."""

import numpy as np
import pytest

from hingeline.device.samples import Sample, SensorFault, SensorInfo
from hingeline.errors import BoardLost
from hingeline.measure.capture import FROZEN_S, Capture, TakenBack

LINE_S = 0.02
INFO = SensorInfo("s", "pico", "port", "mpu6050", 0, 0x68, 16384, 200, 44, "absolute", "ok")


class Source:
    """Lines of one sensor, noisy but where it is frozen; some may be missing, told by faults or not."""

    counts = {}  # noqa: RUF012
    sensors = {"s": INFO}  # noqa: RUF012

    def __init__(self, frozen_from_s=float("inf"), until_s=200.0, missing_s=(), told=False):
        self.frozen_from_s, self.until_s, self.missing_s, self.told = frozen_from_s, until_s, missing_s, told

    def __iter__(self):
        noise = np.random.default_rng(1)
        counts = (0.0, 0.0, 16384.0)
        for number in range(round(self.until_s / LINE_S)):
            time_s = number * LINE_S
            if time_s < self.frozen_from_s:
                counts = tuple(noise.normal((0, 0, 16384), 60))
            if self.told and time_s in (self.missing_s[0], self.missing_s[-1]):
                yield SensorFault("s", time_s, "lost" if time_s == self.missing_s[0] else "back", 5)
            if time_s not in self.missing_s:
                yield Sample("s", time_s, counts, 4, 24.0, number % 65536)


def test_a_frozen_sensor_is_told_and_gives_no_rest():
    seen = []
    capture = Capture(Source(frozen_from_s=5.0), ["s"], told=seen.append)
    capture.rest()
    with pytest.raises(BoardLost, match="frozen"):
        capture.rest(standing_s=10, patience_s=30)
    first = next(one.event.time_s for one in seen if one.frozen)
    assert first == pytest.approx(5.0 + FROZEN_S, abs=2 * LINE_S)


def test_noise_never_looks_frozen():
    seen = []
    Capture(Source(until_s=60), ["s"], told=seen.append).listen(50)
    assert not any(one.frozen for one in seen)


def test_a_rest_may_be_confirmed_though_nothing_moved():
    def told(seen):
        if seen.event.time_s > 10:
            capture.confirm()

    took = []
    capture = Capture(Source(), ["s"], told=told, took=took.append)
    capture.rest()
    assert not capture.confirmed
    capture.rest()
    assert capture.confirmed
    assert len(took) == 2


@pytest.mark.parametrize("told", [False, True], ids=["lines are lost", "the sensor is"])
def test_a_silence_in_which_nothing_moves_makes_no_new_rest(told):
    """A reading of where it was would be taken for the position that is asked for."""
    missing_s = [number * LINE_S for number in range(100, 140)]
    capture = Capture(Source(missing_s=missing_s, told=told), ["s"])
    first = capture.rest()
    again = capture.rest(standing_s=10)
    assert not capture.moved
    assert again["s"].start_s == first["s"].start_s


def test_the_last_rest_may_be_taken_back():
    def told(seen):
        if 10 < seen.event.time_s < 10.03:
            raise TakenBack

    capture = Capture(Source(), ["s"], told=told)
    first = capture.rest()
    with pytest.raises(TakenBack):
        capture.rest()
    assert capture.rest(standing_s=1)["s"].start_s == pytest.approx(first["s"].start_s, abs=20)
