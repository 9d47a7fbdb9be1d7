"""Throws: what is asked, which rests are no position yet, what is recorded, taken back and left out."""

from dataclasses import replace

import pytest
from tests.host.procedures.feed import events
from tests.host.procedures.listed import Listed, runner_of
from tests.host.procedures.scene import Scene, after

from hingeline.checks.judgement import Moment
from hingeline.checks.results import SettingSheet, Skipped
from hingeline.checks.summary import Summary, last_readings
from hingeline.checks.throws import STANDING_S
from hingeline.errors import HingelineError, NotMeasurable
from hingeline.measure.neutral import NeutralReading
from hingeline.procedures.settings import settings_now
from hingeline.procedures.surface_throws import SurfaceThrows
from hingeline.procedures.throws import Throws
from hingeline.storage.store import Store

SHEET = """
[surface.elevator]
sides = ["left", "right"]
throws.normal = { up = "11 deg", down = "11 deg" }
[surface.aileron]
throws.normal = { up = "12 deg", down = "8 deg" }
[surface.flap]
throws.normal = { down = "30 deg" }
[surface.three]
kind = "flap"
throws.normal = { up = "20 deg", down = "30 deg" }
[surface.elevon]
as_elevator.normal = { up = "8 deg", down = "8 deg" }
as_aileron.normal = { up = "10 deg", down = "10 deg" }
[preset.normal.start]
flap = "30.2 deg down"
three = "2 deg down"
"""


@pytest.fixture
def scene():
    return Scene("left", "right")


@pytest.fixture
def throws_of(sheet_of, scene):
    """A function that begins the throws of a surface."""
    return lambda surface, cycles=1: Throws(sheet_of(SHEET), surface, scene.instruments, cycles=cycles)


def at_neutral(throws, scene):
    return after(throws, scene.still(left=0.0, right=0.0))


def results(*nexts):
    return [result for following in nexts for result in events(following)]


def test_what_is_asked_in_order_and_nothing_after_the_way_back(throws_of, scene):
    throws, asked = throws_of("elevator"), []
    for left_deg, right_deg in ((0, 0), (11, 11), (-11, -11), (0, 0)):
        asked.append(throws.step.ask)
        assert throws.step.sensors == scene.ids
        throws = after(throws, scene.still(left=left_deg, right=right_deg))
    assert asked == [
        "elevator: sticks centred, hands off.",
        "elevator: up (normal), all the way, and hold.",
        "elevator: down (normal), all the way, and hold.",
        "elevator: neutral (normal), sticks centred, hands off.",
    ]
    assert (throws.step, throws.position) == (None, None)
    assert throws.judge(scene.rests()) == ()
    assert all(reading.inside for reading in throws.readings)


def test_a_reading_is_recorded_told_and_named(throws_of, scene):
    throws = at_neutral(throws_of("elevator"), scene)
    following = throws.after(scene.still(left=11.0, right=7.0))
    ((kind, fields),) = events(following)
    assert (kind, fields["surface"], fields["mode"], fields["command"]) == (
        "throw",
        "elevator",
        "normal",
        "up",
    )
    left, right, match = fields["judgements"]
    assert left["measured"]["deg"] == pytest.approx(11, abs=0.15)
    assert right["measured"]["deg"] == pytest.approx(7, abs=0.15)
    assert match["measured"]["deg"] == pytest.approx(4, abs=0.2)
    assert (left["inside"], right["inside"], fields["inside"]) == (True, False, False)
    assert following.taken == "up (normal)"
    (message,) = following.messages
    assert message.is_data
    assert message.text.startswith("elevator, up (normal)\n  left")
    assert "one hole" in message.text, "4° short of 11° is no matter of an end point"


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        pytest.param(None, (1.5, 0.0), "Not there yet: move it all the way", id="a knock on one side"),
        pytest.param((11, 11), (9.4, 9.4), "Not there yet: move it all the way", id="the stick relaxes"),
        pytest.param((11, 11), (1.0, 1.0), "Not there yet: move it all the way", id="a pause at neutral"),
    ],
)
def test_a_rest_that_is_not_the_position_is_not_taken(throws_of, scene, was, now, words):
    throws = at_neutral(throws_of("elevator"), scene)
    if was is not None:
        throws = after(throws, scene.still(left=was[0], right=was[1]))
    following = throws.after(scene.still(left=now[0], right=now[1]))
    assert following.procedure is throws
    assert (following.taken, following.results) == ("", ())
    (message,) = following.messages
    assert message.text.startswith(words)
    assert message.or_key is words.startswith("Not there yet")


def test_a_neutral_read_before_is_not_read_at_an_end_where_the_stick_is_by_now(throws_of, scene):
    """Who matched the neutrals goes on by moving the stick to an end: what stands there is no neutral."""
    neutral = NeutralReading(scene.instruments, scene.rests(left=0.0, right=0.0))
    throws = throws_of("elevator").from_neutral(neutral)
    assert throws.step.ask == "elevator: up (normal), all the way, and hold."
    throws = after(throws, scene.still(left=11.0, right=11.0))
    (reading,) = throws.readings
    assert reading.command == "up"
    assert [judgement.measured.deg for judgement in reading.judgements[:2]] == pytest.approx([11.0, 11.0], abs=0.1)


def test_a_stick_that_is_still_centred_after_its_neutral_is_not_spoken_of(throws_of, scene):
    neutral = NeutralReading(scene.instruments, scene.rests(left=0.0, right=0.0))
    throws = throws_of("elevator").from_neutral(neutral)
    assert throws.after(scene.still(left=0.1, right=-0.1)).messages == ()
    assert throws.after(scene.still(left=1.5, right=0.0)).messages


def test_a_stick_released_early_on_the_way_back_is_not_neutral(throws_of, scene):
    throws = after(at_neutral(throws_of("elevator"), scene), scene.still(left=11.0, right=11.0))
    throws = after(throws, scene.still(left=-11.0, right=-11.0))
    (message,) = throws.after(scene.still(left=-9.0, right=-9.0)).messages
    assert message.text == "Not there yet: centre the sticks"


def test_what_a_key_confirms_is_taken_wherever_it_is(throws_of, scene):
    """A servo that does nothing: the person says that this is the position."""
    throws = at_neutral(throws_of("elevator"), scene)
    following = throws.after(scene.still(moved=False, confirmed=True))
    assert following.taken == "up (normal)"
    assert "It did not move" in following.messages[0].text


def test_a_reading_taken_back_has_never_been(throws_of, scene):
    """Read at 9° on its way by mistake, then at 11°: as if it had been read at 11° at once."""
    before = at_neutral(throws_of("elevator"), scene)
    early, up = scene.still(left=9.0, right=9.0), scene.still(left=11.0, right=11.2)
    down, back = scene.still(left=-11.0, right=-11.0), scene.still(left=0.0, right=0.0)
    mistaken = before.after(early)
    assert mistaken.procedure.readings
    assert (before.readings, before.held) == ((), None), "the former procedure is as it was"
    corrected, plain = before, before
    for event in (up, down, back):
        corrected, plain = corrected.after(event), plain.after(event)
        assert corrected.results == plain.results
        corrected, plain = corrected.procedure, plain.procedure
    assert corrected.readings == plain.readings


def test_the_neutral_taken_back_is_asked_for_again(throws_of, scene):
    """A finger leaned on the surface: with the neutral taken anew, a throw counts from there."""
    begun = throws_of("elevator")
    wrong = begun.after(scene.still(left=2.0, right=2.0))
    assert (wrong.taken, wrong.messages[0].text) == ("neutral", "Neutral taken.")
    assert begun.step.ask == "elevator: sticks centred, hands off."
    throws = after(begun, scene.still(left=0.0, right=0.0), scene.still(left=11.0, right=11.0))
    assert throws.readings[0].judgements[0].measured.deg == pytest.approx(11, abs=0.15)


def test_a_position_is_left_out_after_the_neutral_alone(throws_of, scene):
    begun = throws_of("elevator")
    assert begun.skipped() is None
    throws = at_neutral(begun, scene)
    following = throws.skipped()
    assert following.results == (Skipped("elevator", "normal", "up", 1),)
    assert following.messages[0].text == "Left out: up (normal)."
    assert following.taken == "leaving out up (normal)"
    assert following.procedure.step.ask.startswith("elevator: down (normal)")
    assert throws.step.ask.startswith("elevator: up (normal)"), "and it is taken back as a reading is"
    down = following.procedure.after(scene.still(left=-11.0, right=-11.0))
    assert (down.taken, down.procedure.readings[0].command) == ("down (normal)", "down")


def test_throws_of_which_one_was_left_out_are_not_all_within(throws_of, scene):
    """Left out in one cycle and read in the other one, a position was measured."""
    throws = at_neutral(throws_of("elevator", cycles=2), scene)
    ends = {}
    for left_out in ({1}, {1, 2}):
        end = throws
        while end.step:
            cycle = end.to_do[0][1]
            if end.position.command == "up" and cycle in left_out:
                end = end.skipped().procedure
            else:
                target = end.position.goal_deg("left")
                end = end.after(scene.still(left=target, right=target)).procedure
        ends[len(left_out)] = SurfaceThrows(end.readings, end.left_out, Summary((), ()), (), SettingSheet("elevator"))
    assert all(reading.inside for reading in (*ends[1].readings, *ends[2].readings))
    assert (ends[1].inside, ends[1].text()) == (True, "")
    assert (ends[2].inside, ends[2].text()) == (False, "Not measured: up (normal).")


def test_every_cycle_is_asked_for_and_named(throws_of, scene):
    throws, names = at_neutral(throws_of("elevator", cycles=2), scene), []
    for _ in range(2):
        for deflection_deg in (11, -11, 0):
            following = throws.after(scene.still(left=deflection_deg, right=deflection_deg))
            names.append(following.taken)
            throws = following.procedure
    assert throws.step is None
    assert names == [f"{command} (normal), cycle {cycle}" for cycle in (1, 2) for command in ("up", "down", "neutral")]
    assert [reading.cycle for reading in throws.readings] == [1, 1, 1, 2, 2, 2]


def test_swapped_sensors_are_thought_of_before_any_end_point(throws_of, scene):
    """The stick goes left, and the left aileron rises: the sensor taken for the left one shows the right one."""
    throws = at_neutral(throws_of("aileron"), scene)
    assert throws.step.ask == "aileron: stick left (normal), all the way, and hold."
    (message,) = throws.after(scene.still(left=-8.0, right=12.0)).messages
    assert message.text.count("Are left and right sensors swapped? `hingeline wiggle` tells.") == 2
    assert "end point" not in message.text


def test_a_model_that_was_moved_is_told_at_neutral(throws_of, scene):
    throws = at_neutral(throws_of("elevator"), scene)
    throws = after(throws, scene.still(left=11.0, right=11.0), scene.still(left=-11.0, right=-11.0))
    scene.pitch_deg = 1.2
    following = throws.after(scene.still(left=0.0, right=0.0))
    *_, (_, fields) = events(following)
    assert fields["moved_deg"] == pytest.approx(1.2, abs=0.15)
    assert "Both sides have turned +1." in following.messages[0].text
    assert "the model was moved" in following.messages[0].brief


def test_a_sensor_askew_on_its_hinge_gets_no_verdict(throws_of, scene):
    """Turned by 30° on the skin it shows only a part of the throw: no end point is advised from that."""
    scene.askew_deg["right"] = 30.0
    throws = at_neutral(throws_of("elevator"), scene)
    left, right, match = throws.after(scene.still(left=11.0, right=11.0)).procedure.readings[0].judgements
    assert left.verdict == "WITHIN"
    assert (right.verdict, match.verdict) == ("NO VERDICT", "NO VERDICT")
    assert "sits askew" in right.reason


def test_a_sensor_upside_down_is_refused_at_neutral(throws_of, scene):
    scene.on_its_head.add("right")
    with pytest.raises(NotMeasurable, match="right sensor b-right is upside down"):
        throws_of("elevator").after(scene.still(left=0.0, right=0.0))


def test_a_position_that_looks_as_the_one_before_is_taken_where_it_stands(throws_of, scene):
    throws = after(at_neutral(throws_of("flap"), scene), scene.still(left=-30.0, right=-30.0))
    step = throws.step
    assert step.ask == "flap: start (normal), and hold: it stays where it is, and is taken after 5 s."
    assert step.standing_s == 5
    following = throws.after(scene.still(moved=False))
    assert following.taken == "start (normal)"
    assert following.procedure.step.standing_s is None


def test_a_moment_is_shown_beside_the_target_that_is_asked_for(throws_of, scene):
    begun = throws_of("elevator")
    assert begun.judge(scene.rests()) == ()
    throws = at_neutral(begun, scene)
    moments = {moment.side: moment for moment in throws.judge(scene.rests(left=4.0, right=11.0))}
    assert moments["left"].wanted_deg == 11
    assert moments["left"].now.deflection_deg == pytest.approx(4, abs=0.15)
    assert not moments["left"].verdict.inside
    assert moments["right"].verdict.inside
    assert throws.readings == (), "what is shown is not taken"


def test_a_throw_stays_while_its_end_point_is_turned(throws_of, scene):
    """Bench: LESS 1.5 … WITHIN, without a rerun; leaving it goes on, and its last reading counts."""
    throws, asked, verdicts = at_neutral(throws_of("elevator"), scene), [], []
    for deflection_deg in (12.5, 11.7, 11.2):
        following = throws.after(scene.still(left=deflection_deg, right=deflection_deg))
        throws = following.procedure
        verdicts.append(throws.readings[-1].judgements[0].verdict)
        asked.append(throws.step.ask)
        assert following.taken == "up (normal)"
        assert throws.position.command == "down"
        assert next(moment.verdict.word for moment in throws.judge(scene.rests())) == verdicts[-1]
    assert verdicts == ["LESS", "LESS", "WITHIN"]
    assert asked == [
        *["elevator: correct up (normal) while you hold it; then down (normal), all the way, and hold."] * 2,
        "elevator: down (normal), all the way, and hold.",
    ]
    on_its_way = throws.judge(scene.rests(left=3.0, right=3.0))
    assert not any(isinstance(moment, Moment) for moment in on_its_way), "no verdict on the way"
    throws = after(throws, scene.still(left=-11.0, right=-11.0), scene.still(left=0.0, right=0.0))
    assert [(each.command, each.inside) for each in last_readings(throws.readings)] == [
        ("up", True),
        ("down", True),
        ("neutral", True),
    ]


def test_a_throw_turned_up_stays_too(throws_of, scene):
    throws = after(at_neutral(throws_of("elevator"), scene), scene.still(left=9.5, right=11.0))
    throws = after(throws, scene.still(left=11.1))
    assert [reading.inside for reading in throws.readings] == [False, True]


def test_positions_are_recognised_in_any_order(throws_of, scene):
    """Once the surface is known to go the right way: up was asked for, then down and neutral, and start is held."""
    throws = at_neutral(throws_of("three"), scene)
    throws = after(throws, scene.still(left=20.0, right=20.0), scene.still(left=-2.0, right=-2.0))
    assert [reading.command for reading in throws.readings] == ["up", "start"]
    assert throws.position.command == "down"


def test_before_it_is_known_to_go_the_right_way_the_other_end_is_a_reversed_servo(throws_of, scene):
    throws = after(at_neutral(throws_of("elevator"), scene), scene.still(left=-11.0, right=-11.0))
    (reading,) = throws.readings
    assert reading.command == "up"
    assert "It moves the other way" in reading.judgements[0].advice


def test_what_was_left_out_is_asked_for_at_the_end(throws_of, scene):
    throws = at_neutral(throws_of("elevator"), scene).skipped().procedure
    throws = after(throws, scene.still(left=-11.0, right=-11.0), scene.still(left=0.0, right=0.0))
    assert throws.step.ask == "elevator: up (normal), all the way, and hold."
    again = throws.skipped().procedure
    assert again.step is None, "left out for good"
    throws = after(throws, scene.still(left=11.0, right=11.0))
    assert throws.step.ask == "elevator: neutral (normal), sticks centred, hands off."
    throws = after(throws, scene.still(left=0.0, right=0.0))
    assert throws.step is None
    assert SurfaceThrows(
        last_readings(throws.readings), throws.left_out, Summary((), ()), (), SettingSheet("elevator")
    ).inside


def test_a_position_left_at_60_percent_is_asked_about_first(throws_of, scene):
    throws = at_neutral(throws_of("elevator"), scene)
    following = throws.after(scene.still(left=6.6, right=6.6))
    assert (following.taken, following.results) == ("", ())
    assert following.messages[0].text.startswith("It stands at 60 % of the way to up (normal): is the stick at its end")
    assert following.procedure.step.standing_s == STANDING_S
    held = following.procedure.after(scene.still(moved=False))
    assert held.taken == "up (normal)", "it is all there is"
    gone_on = following.procedure.after(scene.still(left=11.0, right=11.0))
    assert gone_on.procedure.readings[0].inside


def test_a_sensor_that_slipped_voids_the_throws_since_neutral(throws_of, scene):
    """At an unknown time the right one slipped by 0.9°, in the turn about the hinge: WITHIN may be wrong by that."""
    throws = after(at_neutral(throws_of("elevator"), scene), scene.still(left=11.0, right=11.0))
    throws = after(throws, scene.still(left=-11.0, right=-10.1))
    following = throws.after(scene.still(left=0.0, right=0.9))
    up, down, back = [fields for _, fields in events(following)]
    assert [fields["command"] for fields in (up, down, back)] == ["up", "down", "neutral"]
    for fields in (up, down):
        left, right, match = fields["judgements"]
        assert (left["verdict"], right["verdict"], match["verdict"]) == ("WITHIN", "NO VERDICT", "NO VERDICT")
        assert "how it came back to neutral" in right["reason"]
        assert right["measured"]["standard_uncertainty_deg"] > 0.9 / 2
    assert following.messages[-1].text == (
        "NO VERDICT any more, as it came back off neutral: up (normal), down (normal). They are asked for again, from "
        "this neutral."
    )
    throws = following.procedure
    assert throws.step.ask == "elevator: up (normal), all the way, and hold."
    # the carrier shows 0.9° more than the surface stands at from here on
    for right_deg, left_deg in ((11.9, 11.0), (-10.1, -11.0), (0.9, 0.0)):
        throws = after(throws, scene.still(left=left_deg, right=right_deg))
    assert throws.step is None
    assert all(reading.inside for reading in last_readings(throws.readings))


def test_a_throw_is_asked_for_again_but_once(throws_of, scene):
    """Play of 0.9° comes back each time: then the throws stay without a verdict."""
    throws = at_neutral(throws_of("elevator"), scene)
    for neutral_deg in (0.9, 0.0):
        for angle in (11.0, -11.0):
            throws = after(throws, scene.still(left=angle, right=angle))
        throws = after(throws, scene.still(left=0.0, right=neutral_deg))
    assert throws.step is None
    assert not any(reading.inside for reading in last_readings(throws.readings))


def test_a_model_that_was_moved_voids_both_sides(throws_of, scene):
    throws = at_neutral(throws_of("elevator"), scene)
    throws = after(throws, scene.still(left=11.0, right=11.0), scene.still(left=-11.0, right=-11.0))
    scene.pitch_deg = 1.2
    following = throws.after(scene.still(left=0.0, right=0.0))
    for fields in [fields for _, fields in events(following)][:2]:
        assert {each["verdict"] for each in fields["judgements"]} == {"NO VERDICT"}
        assert "the model was moved" in fields["judgements"][0]["reason"]
    assert following.procedure.step.ask.startswith("elevator: up (normal)")


def test_what_was_read_before_an_end_point_was_turned_is_asked_for_again(throws_of, scene):
    """Both functions of an elevon share its end points: one that was right before one of them was turned may be off."""
    throws = at_neutral(throws_of("elevon"), scene)
    throws = after(throws, scene.still(left=11.0, right=-10.0), scene.still(left=-10.0, right=10.0))
    throws = after(throws, scene.still(left=8.8, right=8.0))
    assert throws.readings[-1].judgements[0].advice.startswith("set the end point from 100 % to 91 %")
    throws = after(throws, scene.still(left=8.0, right=8.0), scene.still(left=-8.0, right=-8.0))
    throws = after(throws, scene.still(left=0.0, right=0.0))
    assert throws.step.ask.startswith("elevon: stick left (normal)"), "read before its end point was turned"
    throws = after(throws, scene.still(left=10.0, right=-10.0), scene.still(left=0.0, right=0.0))
    assert throws.step is None
    assert throws.check.settings == SettingSheet("elevon")


def test_what_settings_stand_at_is_told_once_and_kept_for_the_session(sheet_of, tmp_path):
    sheet, sensors = sheet_of(SHEET), Listed({})
    first = runner_of(Store(tmp_path), sensors, now="elevator left end point up = 93 %")
    assert settings_now(first, sheet, "elevator") == {"left end point up": 93.0}
    later = runner_of(Store(tmp_path), sensors, now=None)
    assert settings_now(later, sheet, "elevator") == {"left end point up": 93.0}
    assert settings_now(later, sheet, "aileron") == {}
    next_year = replace(later, started="2027-01-01T00:00:00+00:00")
    assert settings_now(next_year, sheet, "elevator") == {}


@pytest.mark.parametrize(
    ("now", "words"),
    [("elevator left end point=93", "no setting"), ("elevator left end point up", "expected"), ("wing up=9", "wing")],
)
def test_a_setting_that_is_none_is_refused(sheet_of, tmp_path, now, words):
    with pytest.raises(HingelineError, match=words):
        settings_now(runner_of(Store(tmp_path), Listed({}), now=now), sheet_of(SHEET), "elevator")


def test_a_key_where_nothing_has_moved_takes_the_position_that_is_asked_for(throws_of, scene):
    """A servo that does not go down: it still stands where up was read."""
    throws = after(at_neutral(throws_of("elevator"), scene), scene.still(left=11.0, right=11.0))
    following = throws.after(scene.still(moved=False, confirmed=True))
    assert following.taken == "down (normal)"
