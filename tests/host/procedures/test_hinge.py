"""Hinge: swept until each sensor's turn on its skin is known."""

import pytest
from tests.host.procedures.feed import events
from tests.host.procedures.scene import Scene, through

from hingeline.errors import NotMeasurable
from hingeline.procedures.hinge import FindHinge

SHEET = """
[surface.flap]
throws.normal = { up = "20 deg", down = "20 deg" }
"""
SWEEP = through(0, 20, -20, 20, -20, 0, seconds=2)
SHORT = through(0, 2, 0, seconds=1)


@pytest.fixture
def scene():
    scene = Scene("left", "right")
    scene.askew_deg = {"left": 0.0, "right": 12.0}
    return scene


@pytest.fixture
def begun(sheet_of, scene):
    return FindHinge(sheet_of(SHEET), "flap", scene.instruments)


def test_a_sweep_tells_how_each_sensor_is_turned(begun, scene):
    assert begun.step.ask == "flap: sticks centred, hands off."
    neutral = begun.after(scene.still(left=0.0, right=0.0))
    assert neutral.taken == "neutral"
    step = neutral.procedure.step
    assert step.ask == "flap: sweep it slowly over its whole travel and back, twice; then let go."
    assert step.all_moved, "both sides, not one alone"
    following = neutral.procedure.after(scene.goes(left=SWEEP, right=SWEEP))
    assert (following.taken, following.procedure.step) == ("the sweep", None)
    left, right = following.procedure.hinges
    assert abs(left.axis.yaw_deg) < 1
    assert abs(right.axis.yaw_deg) == pytest.approx(12, abs=1)
    assert (left.beyond, right.beyond) == (False, True)
    assert [(kind, fields["surface"], fields["sensor_id"]) for kind, fields in events(following)] == [
        ("hinge", "flap", "b-left"),
        ("hinge", "flap", "b-right"),
    ]


def test_a_sweep_that_does_not_tell_is_gone_on_with(begun, scene):
    procedure = begun.after(scene.still(left=0.0, right=0.0)).procedure
    short = procedure.after(scene.goes(left=SHORT, right=SHORT))
    assert (short.taken, short.results) == ("", ())
    assert short.procedure.step.ask == "flap: not yet known well enough; sweep it further and more slowly, then let go."
    assert short.procedure.after(scene.goes(left=SWEEP, right=SWEEP)).procedure.step is None


def test_the_neutral_taken_back_forgets_the_sweeps_too(begun, scene):
    procedure = begun.after(scene.still(left=0.0, right=0.0)).procedure
    procedure.after(scene.goes(left=SHORT, right=SHORT))
    assert (begun.neutral, begun.tracks, procedure.tracks) == (None, {}, {})


def test_a_key_before_anything_has_moved_is_no_sweep(begun, scene):
    """Space at once: one sample of one sensor has come since."""
    procedure = begun.after(scene.still(left=0.0, right=0.0)).procedure
    left, right = scene.ids
    event = scene.still(moved=False, confirmed=True)
    for tracks in ({left: (), right: ()}, {**scene.track({"left": through(0, 0)[:1]}), right: ()}):
        following = procedure.after(event._replace(tracks=tracks))
        assert following.procedure.hinges is None
        assert following.procedure.step is not None


def test_a_sensor_upside_down_is_refused_at_neutral(begun, scene):
    scene.on_its_head.add("left")
    with pytest.raises(NotMeasurable, match="upside down"):
        begun.after(scene.still(left=0.0, right=0.0))
