"""Which sensor sits on which side."""

import pytest

from hingeline.device.samples import SensorInfo
from hingeline.errors import NoBoard, UsageProblem
from hingeline.storage.sides import (
    assign_sides,
    find_sensor,
    load_hinge,
    load_sides,
    save_hinge,
    save_sides,
    sides_known,
    working_sensors,
)
from hingeline.storage.store import Store
from hingeline_calibration.hinge import HingeAxis


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


MORNING, EVENING, NEXT_DAY = "2026-05-17T08:00:00+00:00", "2026-05-17T19:00:00+00:00", "2026-05-18T09:00:00+00:00"


def test_sides_are_known_for_the_rest_of_a_session(tmp_path):
    store = Store(tmp_path)
    assert not sides_known(store, {"left": "a1-104"}, MORNING)
    save_sides(store, {"left": "a1-104", "right": "a1-105"}, MORNING)
    assert sides_known(store, {"left": "a1-104", "right": "a1-105"}, EVENING)
    assert sides_known(store, {"left": "a1-104"}, EVENING), "of one of them alone too"
    assert not sides_known(store, {"left": "a1-105"}, EVENING)
    assert not sides_known(store, {"left": "a1-104"}, NEXT_DAY)
    store.save("settings", "sides", {"left": "a1-104"})
    assert not sides_known(store, {"left": "a1-104"}, EVENING), "nobody knows since when"


def test_the_third_sensor_takes_the_side_that_is_left():
    three = announced("a1", "b2", "c3")
    assert assign_sides(three, BOTH, {"left": "b2"}, {"middle": "a1", "right": "b2"}) == {"left": "b2", "right": "a1"}
    assert assign_sides(three, BOTH, {"middle": "a1"}, {}) == {"left": "a1", "right": "b2"}
    assert assign_sides(three, BOTH, {}, {"right": "a1", "left": "a1"}) == {"left": "b2", "right": "a1"}


def test_a_sensor_is_named_by_its_whole_id_or_an_end_of_it_that_no_other_has():
    working = ("a1-4", "a1-45", "b2-45")
    assert find_sensor("a1-4", working) == "a1-4", "though another one begins so"
    assert find_sensor("b2", working) == "b2-45"
    assert find_sensor("4", ("a1-4", "b2-5")) == "a1-4"
    with pytest.raises(UsageProblem, match="'45' fits several sensors of a1-4, a1-45, b2-45"):
        find_sensor("45", working)
    with pytest.raises(UsageProblem, match="'c3' fits no sensor of"):
        find_sensor("c3", working)


def test_no_working_sensor_is_told_with_what_was_announced():
    assert working_sensors({**announced("a1"), **announced("b2", state="absent")}) == ("a1",)
    with pytest.raises(NoBoard, match=r"No sensor works \(a1 absent, b2 absent\)"):
        working_sensors(announced("a1", "b2", state="absent"))
    with pytest.raises(NoBoard, match=r"No sensor works \(none announced\)"):
        working_sensors({})


@pytest.mark.parametrize("alone", [None, (0.1, 0.2, 0.3)])
def test_a_hinge_holds_for_its_sensor_and_this_session(tmp_path, alone):
    store = Store(tmp_path)
    axis = HingeAxis((0.6, 0.8, 0.0), 0.3, 0.2, alone, () if alone is None else (12 * (0.5,), 12 * (0.25,)))
    assert load_hinge(store, "flap left", "a", MORNING) is None
    save_hinge(store, "flap left", "a", axis, MORNING)
    assert load_hinge(store, "flap left", "a", EVENING) == axis
    assert load_hinge(store, "flap left", "b", EVENING) is None
    assert load_hinge(store, "flap right", "a", EVENING) is None
    assert load_hinge(store, "flap left", "a", NEXT_DAY) is None
