"""Droop: full deflection, then second after second."""

import numpy as np
import pytest
from tests.host.checks.conftest import LINES_HZ
from tests.host.procedures.scene import Scene, after

from hingeline.errors import NotMeasurable
from hingeline.procedures.droop import ALOUD_S, Droop
from hingeline.procedures.procedure import Taken

SHEET = """
[surface.flap]
throws.normal = { down = "30 deg" }
"""
FOR_S = 20


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def begun(sheet_of, scene):
    droop = Droop(sheet_of(SHEET), "flap", scene.instruments, for_s=FOR_S)
    assert droop.step.ask == "flap: sticks centred, hands off."
    return after(droop, scene.still(left=0.0, right=0.0))


def hold(scene, left_deg):
    """What comes of each second, the left side on its course (N,)."""
    return [Taken({}, scene.track({"left": second})) for second in np.split(left_deg, FOR_S)]


def creeping(to_deg):
    return np.linspace(-30.0, to_deg, FOR_S * int(LINES_HZ))


def test_the_seconds_are_counted_down_and_the_creep_is_told(begun, scene):
    assert begun.step.ask == "flap: full deflection, and leave it there."
    start = begun.after(scene.still(left=-30.0, right=-30.0))
    assert (start.taken, start.procedure.step.lasts_s) == ("the start", 1.0)
    droop, asked, aloud = start.procedure, [], []
    for event in hold(scene, creeping(-28.8)):
        asked.append(droop.step.ask)
        aloud.append(droop.step.is_aloud)
        following = droop.after(event)
        assert (following.taken, following.messages, following.results) == ("", (), ())
        droop = following.procedure
    assert asked == [f"flap: holding, {left_s} s to go." for left_s in range(FOR_S, 0, -1)]
    assert [number for number, is_aloud in enumerate(aloud) if is_aloud] == [0, ALOUD_S]
    assert droop.step is None
    found = {finding.name: finding for finding in droop.result.results}
    # of the last two of 20 seconds
    assert abs(found["left, droop"].value - 0.95 * 1.2) <= 1.96 * found["left, droop"].standard_uncertainty <= 0.1
    assert (found["left, droop"].inside, found["right, droop"].inside) == (False, True)


def test_a_rest_near_neutral_is_not_held(begun, scene):
    """The wrong switch, or a knock."""
    following = begun.after(scene.still(left=-1.0, right=-30.0))
    assert following.procedure is begun
    assert (following.taken, following.messages[0].text) == (
        "",
        "Still near neutral: go all the way and leave it there.",
    )


def test_a_stick_that_relaxed_or_a_knock_is_no_droop(begun, scene):
    droop = after(begun, scene.still(left=-30.0, right=-30.0))
    course = creeping(-30.0)
    course[course.size // 2 :] = -12.0
    with pytest.raises(NotMeasurable, match=r"left side went .* in second 11"):
        after(droop, *hold(scene, course))


def test_a_start_taken_back_has_never_been(begun, scene):
    """Held at half deflection by mistake, and already three seconds gone."""
    half = begun.after(scene.still(left=-15.0, right=-15.0))
    after(half.procedure, *hold(scene, creeping(-30.0))[:3])
    assert (half.taken, begun.start, begun.seconds) == ("the start", None, ())
    droop = after(begun, scene.still(left=-30.0, right=-30.0), *hold(scene, creeping(-30.0)))
    assert droop.result.inside


def test_a_sensor_upside_down_is_refused_at_neutral(sheet_of, scene):
    scene.on_its_head.add("left")
    with pytest.raises(NotMeasurable, match="upside down"):
        Droop(sheet_of(SHEET), "flap", scene.instruments).after(scene.still(left=0.0, right=0.0))
