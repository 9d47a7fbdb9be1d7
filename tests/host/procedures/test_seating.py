"""Seating: which sensor sits on which side, by name, by what is kept, or by a wiggle."""

from dataclasses import replace
from itertools import chain

import numpy as np
import pytest
from tests.host.checks.conftest import instrument
from tests.host.procedures.listed import Listed, runner_of
from tests.host.procedures.scene import Scene, info, through

from hingeline.errors import NotStored
from hingeline.procedures.seating import seat_on, seat_sensors
from hingeline.storage.sides import load_sides, place_of, save_hinge, save_sides
from hingeline.storage.store import Store
from hingeline_calibration.hinge import HingeAxis

SHEET = """
[surface.flap]
sweep = "10 deg"
throws.normal = { down = "30 deg" }
[surface.elevator]
throws.normal = { up = "11 deg" }
"""
STARTED = "2026-01-01T00:00:00+00:00"
BEFORE = "2025-12-01T00:00:00+00:00"
WIGGLE = through(0, 8, 0, 8, 0, seconds=0.4)
REST = np.zeros(100)


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def store(tmp_path):
    store = Store(tmp_path / "home")
    for side in ("left", "right", "fixed"):
        each = instrument(side)
        by_face = {"+z": (0.0, 0.0, 0.1, 0.1)}  # a calibration that is kept has lain on a face
        calibration = replace(each.calibration, poses=(("+z", 0.0),), table_tilt_deg=by_face, squareness_deg=by_face)
        store.save("calibration", each.sensor_id, calibration.to_dict())
    return store


@pytest.fixture
def sheet(sheet_of):
    return sheet_of(SHEET)


def samples(scene, *moves):
    """Rest, then each move, by side, and rest again; all sensors in turn, as boards send them."""
    tracks = [scene.track({"left": REST})]
    for move in moves:
        tracks += [scene.track(move), scene.track({"left": REST})]
    return chain.from_iterable(chain.from_iterable(zip(*track.values(), strict=True)) for track in tracks)


def runner_with(store, *sensor_ids, stream=(), **more):
    return runner_of(store, Listed({each: info(each) for each in sensor_ids}, stream), **more)


def sides(instruments):
    return {each.side: each.sensor_id for each in instruments}


def test_in_the_order_of_boards_where_nothing_else_tells(store, sheet):
    runner = runner_with(store, "b-left", "b-right")
    seated = seat_sensors(runner, sheet, "flap")
    assert sides(seated) == {"left": "b-left", "right": "b-right"}
    assert "left: sensor b-left, right: sensor b-right" in runner.talk.lines
    assert [kind for kind, _ in runner.events] == ["sides"]
    assert {side: seat["sensor"] for side, seat in runner.events[0][1]["sides"].items()} == sides(seated)
    assert runner.seats == {"b-left": "left", "b-right": "right"}
    assert [each.heading_deg for each in seated] == [10, -10], "a swept hinge, seen from the centre line"


def test_what_is_kept_is_taken_and_what_is_named_before_that(store, sheet):
    save_sides(store, {"left": "b-right", "right": "b-left"}, STARTED)
    assert sides(seat_sensors(runner_with(store, "b-left", "b-right"), sheet, "flap")) == {
        "left": "b-right",
        "right": "b-left",
    }
    named = runner_with(store, "b-left", "b-right", left="b-left")
    assert sides(seat_sensors(named, sheet, "flap")) == {"left": "b-left", "right": "b-right"}


def test_a_surface_in_one_piece_takes_the_sensor_that_is_named(store, sheet):
    """It need not be the one that sat on the left before."""
    named = runner_with(store, "b-left", "b-right", middle="b-right")
    assert sides(seat_sensors(named, sheet, "elevator")) == {"middle": "b-right"}
    assert sides(seat_sensors(runner_with(store, "b-left", "b-right"), sheet, "elevator")) == {"middle": "b-left"}


def test_a_sensor_without_a_calibration_measures_nothing(store, sheet):
    with pytest.raises(NotStored):
        seat_sensors(runner_with(store, "b-left", "b-other"), sheet, "flap")


def test_swapped_sensors_show_by_a_wiggle_of_the_left_one_and_it_is_remembered(store, sheet, scene):
    """The sensor that was taken for the right one is on the left."""
    moves = samples(scene, {"right": WIGGLE})
    runner = runner_with(store, "b-left", "b-right", stream=moves)
    assert sides(seat_sensors(runner, sheet, "flap", by_wiggle=True)) == {
        "left": "b-right",
        "right": "b-left",
    }
    assert "Left and right were swapped: sensor b-right moved, so it is the left one." in runner.talk.lines
    assert load_sides(store) == {"left": "b-right", "right": "b-left"}
    again = runner_with(store, "b-left", "b-right")
    assert sides(seat_sensors(again, sheet, "flap", by_wiggle=True)) == {"left": "b-right", "right": "b-left"}
    assert not any("wiggle" in line for line in again.talk.lines), "known in this session"


def test_the_sides_of_another_day_are_wiggled_again(store, sheet, scene):
    save_sides(store, {"left": "b-left", "right": "b-right"}, BEFORE)
    runner = runner_with(store, "b-left", "b-right", stream=samples(scene, {"left": WIGGLE}))
    assert sides(seat_sensors(runner, sheet, "flap", by_wiggle=True)) == {
        "left": "b-left",
        "right": "b-right",
    }
    assert any("wiggle the LEFT surface" in line for line in runner.talk.lines)
    assert not any("swapped" in line for line in runner.talk.lines)


def test_a_sensor_on_the_fixed_part_has_no_side(store, sheet):
    runner = runner_with(store, "b-fixed", "b-left", "b-right", fixed="b-fixed")
    seated = seat_sensors(runner, sheet, "flap")
    assert sides(seated) == {"left": "b-left", "right": "b-right"}
    assert {each.fixed.sensor_id for each in seated} == {"b-fixed"}
    assert runner.seats == {"b-left": "left", "b-right": "right", "b-fixed": "fixed"}


def test_a_hinge_found_in_this_session_is_used_and_said(store, sheet):
    turn = np.radians(12)
    found = HingeAxis((float(np.cos(turn)), float(np.sin(turn)), 0.0), 0.1, 0.1)
    place = place_of(sheet.aircraft, "flap", "right")
    runner = runner_with(store, "b-left", "b-right")
    save_hinge(store, place, "b-right", found, BEFORE)
    assert seat_sensors(runner, sheet, "flap")[1].hinge != found, "of another day: it was taped anew since"
    save_hinge(store, place, "b-right", found, STARTED)
    left, right = seat_sensors(runner, sheet, "flap")
    assert (left.hinge, right.hinge) == (HingeAxis(), found)
    assert any(
        "b-right: measured about the hinge found in this session, 12.0° off" in line for line in runner.talk.lines
    )


def test_before_each_of_several_surfaces_a_key_is_waited_for_where_one_is_asked(store, sheet):
    waits = []
    runner = runner_with(store, "b-left", "b-right", asks=True, waits=waits)
    for surface in ("flap", "elevator"):
        seat_on(runner, sheet, surface, ["flap", "elevator"])
    assert waits == [
        "Tape the sensors on the flap, then press",
        "Tape the sensors on the elevator, then press",
    ]
    seat_on(runner, sheet, "flap", ["flap"])
    assert len(waits) == 2, "of one alone, they are on it"


def test_without_a_key_a_wiggle_tells_that_they_are_on_the_next_surface(store, sheet, scene):
    """Carried over and taped on, 30° from where they were; then the surface is wiggled."""
    carried = {"left": through(0, 60, 30), "right": through(0, 60, 30)}
    scene.stands |= {"left": 0.0, "right": 0.0}
    tracks = [scene.track({"left": REST}), scene.track(carried), scene.track({"left": REST + 30})]
    tracks += [scene.track({"left": 30 + WIGGLE}), scene.track({"left": REST + 30})]
    stream = chain.from_iterable(chain.from_iterable(zip(*track.values(), strict=True)) for track in tracks)
    runner = runner_with(store, "b-left", "b-right", stream=stream)
    seat_on(runner, sheet, "flap", ["flap", "elevator"])
    assert not any("tape the sensors on" in line for line in runner.talk.lines), "on the first they are"
    seat_on(runner, sheet, "elevator", ["flap", "elevator"])
    asked = [line for line in runner.talk.lines if "tape the sensors on" in line]
    assert len(asked) == 1
    assert "Waiting for a wiggle of the surface alone." in runner.talk.lines or "LEFT" in asked[0]
