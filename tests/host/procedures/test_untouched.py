"""Sensors left untouched: second after second, and all their samples kept."""

import pytest
from tests.host.procedures.scene import Scene, through

from hingeline.procedures.procedure import Taken
from hingeline.procedures.untouched import ALOUD_S, Untouched
from hingeline.units import time_text


def second(scene, temperature_c=None):
    tracks = scene.track({"left": through(0, 0)})
    return Taken(
        {},
        {name: tuple(each._replace(temperature_c=temperature_c) for each in track) for name, track in tracks.items()},
    )


def test_the_time_to_go_is_counted_down_and_said_every_minute():
    scene = Scene("left", "right")
    untouched, aloud = Untouched(scene.ids, for_s=130), []
    assert untouched.step.ask == "2 min to go"
    for number in range(130):
        step = untouched.step
        assert (step.sensors, step.lasts_s, step.while_still) == (scene.ids, 1.0, step.ask)
        aloud += [number] if step.is_aloud else []
        following = untouched.after(Taken({}, dict.fromkeys(scene.ids, ())))
        assert (following.taken, following.messages, following.results) == ("", (), ()), "nothing to take back"
        untouched = following.procedure
    assert aloud == [0, ALOUD_S, 2 * ALOUD_S]
    assert untouched.step is None


def test_all_samples_are_kept_in_their_order():
    scene = Scene("left", "right")
    untouched, expected = Untouched(scene.ids, for_s=3), []
    for _ in range(3):
        event = second(scene)
        expected += event.tracks["b-right"]
        untouched = untouched.after(event).procedure
    assert untouched.tracks["b-right"] == tuple(expected)
    assert [each.time_s for each in expected] == sorted(each.time_s for each in expected)


def test_the_chips_warmth_is_shown_where_they_tell_it():
    scene = Scene("left")
    untouched = Untouched(scene.ids, for_s=30)
    assert untouched.after(second(scene)).procedure.step.ask == "29 s to go"
    assert untouched.after(second(scene, 24.06)).procedure.step.ask == "29 s to go, b-left 24.1 °C"


def test_a_part_of_a_second_is_waited_for():
    untouched = Untouched(("b-left",), for_s=1.5)
    untouched = untouched.after(Taken({}, {"b-left": ()})).procedure
    assert untouched.step.lasts_s == pytest.approx(0.5)
    assert untouched.after(Taken({}, {"b-left": ()})).procedure.step is None


@pytest.mark.parametrize(("time_s", "words"), [(9.6, "10 s"), (119, "119 s"), (120, "2 min"), (600, "10 min")])
def test_a_time_in_words(time_s, words):
    assert time_text(time_s) == words
