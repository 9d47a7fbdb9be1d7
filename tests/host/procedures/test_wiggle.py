"""Wiggles: the sensor that moves alone, or far more than one that shakes with it."""

from dataclasses import replace

import pytest
from tests.host.procedures.scene import Scene, after, through

from hingeline.procedures.wiggle import await_wiggle, find_left, find_side

WIGGLE = through(0, 8, 0, seconds=0.4)
ON_THE_LEFT = "Wiggle the sensor on the LEFT, as seen from behind, or its surface; then hands off."
TAPE = "flap: tape the sensors on, sticks centred; then wiggle the LEFT surface with a finger, and hands off."


@pytest.fixture
def scene():
    return Scene("left", "right")


def rested(wiggle, scene):
    return after(wiggle, scene.still(left=0.0, right=0.0))


def test_hands_off_then_one_is_wiggled(scene):
    wiggle = find_side(scene.ids, "left")
    assert wiggle.step.ask == "Hands off for a moment."
    wiggle = rested(wiggle, scene)
    assert (wiggle.step.ask, wiggle.step.sensors) == (ON_THE_LEFT, scene.ids)
    following = wiggle.after(scene.goes(right=WIGGLE))
    assert (following.procedure.sensor_id, following.procedure.step) == ("b-right", None)
    assert (following.taken, following.messages) == ("", ())


def test_the_other_side_may_shake_with_it(scene):
    """A finger on one flap shakes the wing: a tenth as far."""
    wiggle = rested(find_left(scene.ids, "flap"), scene)
    assert wiggle.step.ask == (
        "flap: wiggle the LEFT surface, as seen from behind, with a finger for a second; then hands off."
    )
    assert after(wiggle, scene.goes(left=WIGGLE, right=0.1 * WIGGLE)).sensor_id == "b-left"


def test_both_alike_are_asked_for_again(scene):
    """The model was lifted, or the stick moved."""
    for wiggle, words in (
        (
            find_side(scene.ids, "left"),
            "Several sensors moved alike: hold the model, and wiggle the one on the LEFT alone.",
        ),
        (find_left(scene.ids, "flap"), "Both sensors moved alike: hold the model, and touch the left surface alone."),
    ):
        following = rested(wiggle, scene).after(scene.goes(left=WIGGLE, right=0.8 * WIGGLE))
        assert (following.procedure.sensor_id, following.messages[0].text) == ("", words)
        assert after(following.procedure, scene.goes(right=WIGGLE)).sensor_id == "b-right"


def test_a_sensor_that_has_its_side_already_is_no_other_side(scene):
    wiggle = rested(find_side(scene.ids, "right", taken="b-left"), scene)
    assert "on the RIGHT" in wiggle.step.ask
    following = wiggle.after(scene.goes(left=WIGGLE))
    assert (following.procedure.sensor_id, following.messages[0].text) == (
        "",
        "Sensor b-left has its side already: wiggle the one on the RIGHT.",
    )
    assert after(following.procedure, scene.goes(right=WIGGLE)).sensor_id == "b-right"


def test_a_key_before_anything_has_moved_tells_no_side(scene):
    for wiggle in (
        find_side(scene.ids, "left"),
        find_left(scene.ids, "flap"),
        await_wiggle("flap", scene.instruments),
    ):
        following = rested(wiggle, scene).after(scene.still(moved=False, confirmed=True))
        assert following.procedure.step is not None
        assert following.messages[0].text == "Nothing has moved yet."


def test_taping_on_is_no_wiggle(scene):
    """Carried from one surface to the other and pressed on: each rests and moves again, and ends elsewhere."""
    wiggle = await_wiggle("flap", scene.instruments)
    assert wiggle.step.ask == TAPE
    wiggle = rested(wiggle, scene)
    assert wiggle.step.ask == TAPE
    waiting = "Waiting for a wiggle of the LEFT surface alone."
    for event in (
        scene.goes(left=through(0, 60, 20)),  # the left one is moved there
        scene.goes(right=through(0, 60, 20)),  # then the right one
        scene.goes(right=through(20, 28, 20)),  # which is pressed on
        scene.goes(left=through(20, 28, 20), right=through(20, 26, 20)),  # the model is turned
    ):
        following = wiggle.after(event)
        assert (following.procedure.step.ask, following.messages[0].text) == (TAPE, waiting)
        wiggle = following.procedure
    assert after(wiggle, scene.goes(left=through(20, 28, 20, seconds=0.4))).step is None


def test_one_sensor_alone_has_no_side():
    scene = Scene("middle")
    wiggle = rested(await_wiggle("rudder", scene.instruments), scene)
    assert wiggle.step.ask == (
        "rudder: tape the sensors on, sticks centred; then wiggle the surface with a finger, and hands off."
    )
    assert after(wiggle, scene.goes(middle=WIGGLE)).sensor_id == "b-middle"


@pytest.mark.parametrize(("share", "is_told"), [(0.3, True), (0.37, False)])
def test_the_one_wiggled_turns_three_times_as_far_as_any_other(scene, share, is_told):
    wiggle = rested(find_left(scene.ids, "flap"), scene)
    assert bool(after(wiggle, scene.goes(left=WIGGLE, right=share * WIGGLE)).sensor_id) is is_told


@pytest.mark.parametrize(("stays_deg", "is_told"), [(0.7, True), (1.15, False)])
def test_what_was_wiggled_comes_back_within_a_degree(scene, stays_deg, is_told):
    wiggle = rested(await_wiggle("flap", scene.instruments), scene)
    following = wiggle.after(scene.goes(left=through(0, 8, stays_deg, seconds=0.4)))
    assert bool(following.procedure.sensor_id) is is_told


def test_nothing_that_moved_is_told(scene):
    wiggle = rested(find_left(scene.ids, "flap"), scene)
    first = scene.goes(left=WIGGLE)
    again = wiggle.after(first).procedure
    following = replace(again, sensor_id="").after(first)
    assert following.messages[0].text == "Nothing has moved yet."
