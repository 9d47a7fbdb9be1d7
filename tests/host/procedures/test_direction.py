"""Direction: each command, and back to neutral between them."""

import pytest
from tests.host.procedures.feed import events
from tests.host.procedures.scene import Scene, after

from hingeline.errors import NotMeasurable
from hingeline.procedures.direction import Direction

SHEET = """
[surface.aileron]
throws.normal = { up = "12 deg", down = "8 deg" }
[surface.v-tail]
as_elevator.normal = { up = "8 deg", down = "8 deg" }
as_rudder.normal = { up = "9 deg", down = "9 deg" }
"""
RIGHT = 'aileron: Stick right, all the way, hold, and say aloud "right: right aileron up".'


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def direction_of(sheet_of, scene):
    """A function that begins with a surface, its neutral taken."""

    def begin(surface):
        direction = Direction(sheet_of(SHEET), surface, scene.instruments)
        assert direction.step.ask == f"{surface}: sticks centred, hands off."
        return after(direction, scene.still(left=0.0, right=0.0))

    return begin


def test_what_goes_its_way_is_recorded_and_told(direction_of, scene):
    direction = direction_of("aileron")
    assert direction.step.ask == RIGHT
    following = direction.after(scene.still(left=-8.0, right=12.0))
    assert (following.taken, following.procedure.step) == ("reading 1 of 1", None)
    ((kind, fields),) = events(following)
    assert (kind, fields["surface"], fields["command"], fields["inside"]) == (
        "direction",
        "aileron",
        "Stick right",
        True,
    )
    (message,) = following.messages
    assert message.is_data
    assert "aileron, Stick right: left went down (-8." in message.text
    assert message.text.count(": correct") == 2


@pytest.mark.parametrize(
    ("left_deg", "right_deg", "first"),
    [
        pytest.param(8.0, -12.0, "left and right sensor are swapped", id="swapped sensors, or a reversed channel"),
        pytest.param(-8.0, -12.0, "right: the arrow of its carrier", id="a reversed servo"),
        pytest.param(0.0, 12.0, "left: its plug, its clevis", id="a plug that fell out"),
    ],
)
def test_what_goes_the_wrong_way_is_told_with_its_candidates(direction_of, scene, left_deg, right_deg, first):
    following = direction_of("aileron").after(scene.still(left=left_deg, right=right_deg))
    ((_, fields),) = events(following)
    assert not fields["inside"]
    (message,) = following.messages
    assert message.text.count("WRONG WAY") == (2 if "swapped" in first else 1)
    assert message.text.partition("candidate: ")[2].startswith(first)
    assert ("swapped" in message.text) == ("swapped" in first), "one side alone cannot be swapped"


def test_the_second_command_waits_for_the_way_back(direction_of, scene):
    direction = after(direction_of("v-tail"), scene.still(left=8.0, right=8.0))
    assert direction.step.ask == "v-tail: back to neutral."
    stays = direction.after(scene.still(left=7.0, right=7.0))
    assert (stays.taken, stays.procedure.step.ask) == ("", "v-tail: back to neutral.")
    back = stays.procedure.after(scene.still(left=0.0, right=0.0))
    assert (back.taken, back.results) == ("", ())
    assert back.procedure.step.ask.startswith("v-tail: Rudder right")
    last = back.procedure.after(scene.still(left=9.0, right=-9.0))
    assert (last.taken, last.procedure.step) == ("reading 2 of 2", None)
    assert all(reading.inside for reading in last.procedure.readings)


def test_a_knock_is_no_command_unless_a_key_says_so(direction_of, scene):
    """A servo that does nothing is told at a key."""
    direction = direction_of("aileron")
    knock = scene.still(left=0.0, right=1.0)
    following = direction.after(knock)
    assert following.procedure is direction
    assert (following.taken, following.messages[0].text) == ("", "Still near neutral: all the way, and hold.")
    confirmed = direction.after(knock._replace(confirmed=True))
    assert confirmed.taken == "reading 1 of 1"
    assert "went nowhere" in confirmed.messages[0].text


def test_a_reading_taken_back_has_never_been(direction_of, scene):
    """The stick went to the left."""
    direction = direction_of("aileron")
    assert not direction.after(scene.still(left=12.0, right=-8.0)).procedure.readings[0].inside
    assert (direction.readings, direction.is_away, direction.step.ask) == ((), False, RIGHT)
    right = after(direction, scene.still(left=-8.0, right=12.0))
    assert [reading.inside for reading in right.readings] == [True]


def test_a_sensor_upside_down_is_refused_at_neutral(sheet_of, scene):
    scene.on_its_head.add("right")
    with pytest.raises(NotMeasurable, match="upside down"):
        Direction(sheet_of(SHEET), "aileron", scene.instruments).after(scene.still(left=0.0, right=0.0))
