"""Play: pushes and releases of one side after the other, and what of a side that nobody pushes."""

import pytest
from tests.host.procedures.scene import Scene, after

from hingeline.errors import NotMeasurable
from hingeline.procedures.play import STANDING_S, Play
from hingeline.rig.quantities import Measure

SHEET = """
[surface.flap]
throws.normal = { up = "20 deg", down = "20 deg" }
"""
PLAY_DEG, BEND_DEG = 0.6, 0.3
PUSHES = (PLAY_DEG / 2 + BEND_DEG, PLAY_DEG / 2, -PLAY_DEG / 2 - BEND_DEG, -PLAY_DEG / 2)
WORDS = (
    "push its trailing edge up with one finger, lightly, and hold.",
    "let go.",
    "push it down, lightly, and hold.",
    "let go.",
)


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def play_of(sheet_of, scene):
    """A function that begins, with a limit of half a degree."""
    return lambda cycles=1: Play(sheet_of(SHEET), "flap", scene.instruments, limit=Measure(0.5, "deg"), cycles=cycles)


def pushed(play, scene, side, cycles=1, places=PUSHES):
    """The procedure after the neutral, the pushes and the releases of a side."""
    play = after(play, scene.still(**{side: 0.0}))
    return after(play, *(scene.still(**{side: place}) for _ in range(cycles) for place in places))


def test_one_side_after_the_other_is_pushed(play_of, scene):
    play, asked = play_of(cycles=2), []
    for side in ("left", "right"):
        for place in (0.0, *PUSHES, *PUSHES):
            step = play.step
            asked.append(step.ask)
            assert step.sensors == (f"b-{side}",), "the other side may move"
            play = after(play, scene.still(**{side: place}))
    expected = []
    for side in ("left", "right"):
        expected.append(f"flap {side}: servo powered, sticks centred, hands off.")
        expected += [f"flap {side}, {cycle}: {words}" for cycle in (1, 2) for words in WORDS]
    assert asked == expected
    assert play.step is None
    left, right = play.result.results
    assert (left.name, right.name) == ("left, play", "right, play")
    for finding in (left, right):
        assert finding.value == pytest.approx(PLAY_DEG, abs=0.08)
        assert not finding.inside


def test_a_release_may_move_nothing_a_push_may_not(play_of, scene):
    """A surface without play: a release that shows nothing counts after a while, a push that shows nothing does not."""
    play = after(play_of(), scene.still(left=0.0))
    assert play.step.standing_s == STANDING_S
    nothing = scene.still(moved=False)
    once = play.after(nothing)
    assert once.taken == ""
    assert once.procedure.step.ask == f"flap left, 1: nothing moved; {WORDS[0]}"
    up = once.procedure.after(scene.still(left=0.4))
    assert up.taken == "reading 1 of 4"
    assert up.procedure.step.ask == "flap left, 1: let go."
    assert up.procedure.after(nothing).taken == "reading 2 of 4"


def test_a_firm_push_that_moves_nothing_is_confirmed_at_a_key(play_of, scene):
    play = after(play_of(), scene.still(left=0.0))
    assert play.after(scene.still(moved=False, confirmed=True)).taken == "reading 1 of 4"


def test_a_side_that_nobody_pushed_is_not_measured_and_the_other_one_is(play_of, scene):
    play = after(play_of(), scene.still(left=0.0), scene.still(moved=False), scene.still(moved=False))
    assert play.step.ask == "flap right: servo powered, sticks centred, hands off."
    play = pushed(play, scene, "right")
    assert play.step is None
    assert [finding.name for finding in play.result.results] == ["right, play"]
    assert any(note.startswith("left: not measured.") for note in play.result.notes)
    assert isinstance(play.problem, NotMeasurable)
    assert "flap left, 1: no push was seen in 20 s" in play.problem.message


def test_a_reading_taken_back_has_never_been(play_of, scene):
    """A push that ended in a knock of 4°."""
    play = after(play_of(), scene.still(left=0.0))
    assert play.after(scene.still(left=4.0)).taken == "reading 1 of 4"
    assert play.taken == ()
    places = [scene.still(left=place) for place in PUSHES]
    (finding,) = after(play, *places).results[0].results
    assert finding.value == pytest.approx(PLAY_DEG, abs=0.08)


def test_the_last_reading_of_a_side_can_be_taken_back_from_the_next(play_of, scene):
    play = after(play_of(), scene.still(left=0.0), *(scene.still(left=place) for place in PUSHES[:3]))
    last = play.after(scene.still(left=PUSHES[3]))
    assert last.taken == "reading 4 of 4"
    assert last.procedure.step.ask.startswith("flap right: ")
    assert play.step.ask == "flap left, 1: let go."
    assert play.results == ()


def test_who_is_a_step_ahead_of_what_is_asked_gets_no_play_out_of_it(play_of, scene):
    """A loose surface, pushed a step ahead of the prompts, once read as one without play."""
    play = after(play_of(), scene.still(left=0.0))
    ahead = play.after(scene.still(left=PUSHES[2]))
    assert (ahead.taken, ahead.procedure) == ("", play)
    assert ahead.messages[0].text.startswith("It went down by 0.6°, which is not taken: push its trailing edge up")
    play = after(play, scene.still(left=PUSHES[0]))
    harder = play.after(scene.still(left=PUSHES[0] + 0.5))
    assert harder.taken == "", "who is to let go pushes on"
    assert after(play, *(scene.still(left=place) for place in PUSHES[1:])).results[0].results[0].value > 0.5


def test_a_sensor_upside_down_is_refused_at_neutral(play_of, scene):
    scene.on_its_head.add("left")
    with pytest.raises(NotMeasurable, match="upside down"):
        play_of().after(scene.still(left=0.0))


def test_a_moment_is_shown_of_the_side_that_is_pushed(play_of, scene):
    play = play_of()
    assert tuple(play.judge(scene.rests())) == ()
    (moment,) = after(play, scene.still(left=0.0)).judge(scene.rests(left=0.5, right=3.0))
    assert (moment.side, moment.now.deflection_deg) == ("left", pytest.approx(0.5, abs=0.15))
    assert tuple(pushed(play, scene, "left").judge(scene.rests())) == ()
