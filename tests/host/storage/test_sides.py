"""Which sensor sits on which side."""

import pytest

from hingeline.device.samples import SensorInfo
from hingeline.errors import NoBoard, UsageProblem
from hingeline.storage.sides import assign, remember, remembered
from hingeline.storage.store import Store


def announced(*names, state="ok"):
    return {
        name: SensorInfo(name, "pico", "port", "mpu6050", 0, 104, 16384, 200, 44, "absolute", state)
        for name in names
    }


TWO = announced("a1-104", "a1-105")
BOTH = ("left", "right")


def test_sides_go_by_name_then_by_memory_then_by_board_order():
    kept = {"left": "a1-105", "right": "a1-104"}
    assert assign(TWO, BOTH, {}, {}) == {"left": "a1-104", "right": "a1-105"}
    assert assign(TWO, BOTH, {}, kept) == kept
    assert assign(TWO, BOTH, {"left": "104", "right": None}, kept) == {"left": "a1-104", "right": "a1-105"}
    assert assign(TWO, ("middle",), {}, kept) == {"middle": "a1-104"}


def test_a_remembered_sensor_that_does_not_work_is_passed_over():
    sensors = announced("a1-104", "b2-24") | announced("a1-105", state="absent")
    assert assign(sensors, BOTH, {}, {"left": "a1-105", "right": "a1-104"}) == {
        "left": "b2-24",
        "right": "a1-104",
    }
    with pytest.raises(NoBoard, match="1 sensor"):
        assign(announced("a1-104"), BOTH, {}, {"left": "a1-104", "right": "a1-105"})


def test_a_sensor_can_not_be_on_two_sides():
    with pytest.raises(UsageProblem, match="named for two sides"):
        assign(TWO, BOTH, {"left": "a1-104", "right": "104"}, {})


def test_sides_are_remembered(tmp_path):
    store = Store(tmp_path)
    assert remembered(store) == {}
    remember(store, {"left": "a1-104", "right": "a1-105"})
    assert remembered(store) == {"left": "a1-104", "right": "a1-105"}
    remember(store, {"middle": "a1-105"})
    assert remembered(store) == {"left": "a1-104", "middle": "a1-105"}, "a sensor has one side"
