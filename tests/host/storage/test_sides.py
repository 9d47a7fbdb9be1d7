"""Which sensor sits on which side."""

import pytest

from hingeline.device.samples import SensorInfo
from hingeline.errors import NoBoard, UsageProblem
from hingeline.storage.sides import assign_sides, load_sides, save_sides
from hingeline.storage.store import Store


def announced(*names, state="ok"):
    return {
        name: SensorInfo(name, "pico", "port", "mpu6050", 0, 104, 16384, 200, 44, "absolute", state) for name in names
    }


TWO = announced("a1-104", "a1-105")
BOTH = ("left", "right")


def test_sides_go_by_name_then_by_memory_then_by_board_order():
    kept = {"left": "a1-105", "right": "a1-104"}
    assert assign_sides(TWO, BOTH, {}, {}) == {"left": "a1-104", "right": "a1-105"}
    assert assign_sides(TWO, BOTH, {}, kept) == kept
    assert assign_sides(TWO, BOTH, {"left": "104", "right": None}, kept) == {
        "left": "a1-104",
        "right": "a1-105",
    }
    assert assign_sides(TWO, ("middle",), {}, kept) == {"middle": "a1-104"}


def test_a_remembered_sensor_that_does_not_work_is_passed_over():
    sensors = announced("a1-104", "b2-24") | announced("a1-105", state="absent")
    assert assign_sides(sensors, BOTH, {}, {"left": "a1-105", "right": "a1-104"}) == {
        "left": "b2-24",
        "right": "a1-104",
    }
    with pytest.raises(NoBoard, match="1 sensor"):
        assign_sides(announced("a1-104"), BOTH, {}, {"left": "a1-104", "right": "a1-105"})


def test_a_sensor_can_not_be_on_two_sides():
    with pytest.raises(UsageProblem, match="named for two sides"):
        assign_sides(TWO, BOTH, {"left": "a1-104", "right": "104"}, {})


def test_sides_are_remembered(tmp_path):
    store = Store(tmp_path)
    assert load_sides(store) == {}
    save_sides(store, {"left": "a1-104", "right": "a1-105"})
    assert load_sides(store) == {"left": "a1-104", "right": "a1-105"}
    save_sides(store, {"middle": "a1-105"})
    assert load_sides(store) == {"left": "a1-104", "middle": "a1-105"}, "a sensor has one side"
