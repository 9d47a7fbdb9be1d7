"""Hinge: swept until each sensor's turn on its skin is known."""

import pytest
from tests.host.procedures.feed import events
from tests.host.procedures.scene import Scene, after, through
from tests.host.procedures.vtail import VTail

from hingeline.checks.hinge import hinge_text
from hingeline.errors import NotMeasurable
from hingeline.procedures.hinge import FindHinge, about

SHEET = """
[surface.flap]
throws.normal = { up = "20 deg", down = "20 deg" }
[surface.tail]
kind = "v-tail"
dihedral = "35 deg"
as_elevator.normal = { up = "11 deg", down = "11 deg" }
"""
SWEEP = through(0, -20, 20, -20, 20, 0, seconds=2)
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
    assert step.ask == "flap: sweep it slowly over its whole travel and back, Flaps down first; then let go."
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


def test_a_carrier_the_wrong_way_round_is_told_and_asked_for_again(sheet_of):
    """Of a V-tail the lean of the hinge tells it surely: turned round on its skin, its +x points to the right."""
    scene = VTail(35.0, {"left": 0.0, "right": 180.0})
    begun = FindHinge(sheet_of(SHEET), "tail", scene.instruments)
    sweep = -SWEEP
    procedure = after(begun, scene.still(left=0.0, right=0.0))
    following = procedure.after(scene.goes(left=sweep, right=sweep))
    assert following.results == ()
    assert following.messages[0].text == (
        "The arrow of the right sensor points forward: turn it round, arrow to the trailing edge."
    )
    assert following.procedure.step.ask == "tail: sticks centred, hands off."
    scene.askew_deg["right"] = 5.0
    procedure = after(following.procedure, scene.still(left=0.0, right=0.0), scene.goes(left=sweep, right=sweep))
    assert procedure.hinges[1].axis.yaw_deg == pytest.approx(-5, abs=0.5)


def test_sensors_on_each_others_fins_are_told_and_asked_for_again(sheet_of):
    scene = VTail(35.0, {"left": 0.0, "right": 0.0})
    scene.is_swapped = True
    begun = FindHinge(sheet_of(SHEET), "tail", scene.instruments)
    procedure = after(begun, scene.still(left=0.0, right=0.0))
    following = procedure.after(scene.goes(left=-SWEEP, right=-SWEEP))
    assert [message.text for message in following.messages] == [
        "The left sensor sits on the right, the right one on the left: let them change places."
    ]
    assert following.procedure.step.ask == "tail: sticks centred, hands off."
    scene.is_swapped = False
    procedure = after(following.procedure, scene.still(left=0.0, right=0.0), scene.goes(left=-SWEEP, right=-SWEEP))
    assert procedure.hinges is not None


def test_a_movement_as_expected_says_nothing_even_where_the_hinge_leans_oddly(sheet_of):
    """Each fin is built 20° flatter than its sheet says: nothing has gone the other way."""
    scene = VTail(15.0, {"left": 0.0, "right": 0.0})
    begun = FindHinge(sheet_of(SHEET), "tail", scene.instruments)
    procedure = after(begun, scene.still(left=0.0, right=0.0))
    following = procedure.after(scene.goes(left=-SWEEP, right=-SWEEP))
    assert (following.messages, following.procedure.step) == ((), None)


@pytest.mark.parametrize("side", ["left", "right"])
def test_an_arrow_forward_on_a_wing_with_dihedral_is_told(sheet_of, side):
    """Ailerons go opposed: sensors that are swapped, the other one turned round, would move and lean alike."""
    scene = VTail(6.0, {"left": 0.0, "right": 0.0, side: 180.0})
    sheet = sheet_of('[surface.aileron]\ndihedral = "6 deg"\nthrows.normal = { up = "20 deg", down = "20 deg" }\n')
    procedure = after(FindHinge(sheet, "aileron", scene.instruments), scene.still(left=0.0, right=0.0))
    following = procedure.after(scene.goes(left=SWEEP, right=-SWEEP))
    assert [message.text for message in following.messages] == [
        f"The arrow of the {side} sensor points forward: turn it round, arrow to the trailing edge."
    ]
    assert following.procedure.step.ask == "aileron: sticks centred, hands off."


def test_both_ailerons_the_other_way_first_may_be_swapped_sensors(sheet_of):
    scene = Scene("left", "right")
    sheet = sheet_of('[surface.aileron]\nthrows.normal = { up = "20 deg", down = "20 deg" }\n')
    procedure = after(FindHinge(sheet, "aileron", scene.instruments), scene.still(left=0.0, right=0.0))
    following = procedure.after(scene.goes(left=-SWEEP, right=SWEEP))
    assert following.messages[0].text.startswith(
        "It went the other way first than with Stick right (expected left down, right up): left and right sensor are "
        "swapped, the stick went the other way first,"
    )


def test_a_first_movement_the_other_way_is_told(begun, scene):
    """Without dihedral nothing tells a reversed servo from an arrow that points forward, or from the stick."""
    procedure = begun.after(scene.still(left=0.0, right=0.0)).procedure
    following = procedure.after(scene.goes(left=-SWEEP, right=SWEEP))
    assert following.procedure.hinges is not None
    assert following.messages[0].text.startswith(
        "It went the other way first than with Flaps down (expected left down): the stick went the other way first,"
    )


def test_a_sensor_taped_anew_is_told_from_one_that_is_askew(begun, scene):
    """The right one sat 12° askew when its hinge was found; now it sits straight."""
    procedure = after(begun, scene.still(left=0.0, right=0.0), scene.goes(left=SWEEP, right=SWEEP))
    askew, straight = procedure.hinges[1], about(scene.instruments, procedure.hinges)
    assert hinge_text(askew).endswith(", more than 5°")
    scene.askew_deg["right"] = 0.0
    anew = FindHinge(begun.sheet, "flap", straight)
    anew = after(anew, scene.still(left=0.0, right=0.0), scene.goes(left=SWEEP, right=SWEEP))
    assert hinge_text(anew.hinges[1]).endswith("° when its hinge was found, so it was taped anew or slipped")
    assert not anew.hinges[0].beyond
