"""The hands of whoever practises: keys in, commands of the virtual bench out, written down here from the trade."""

import pytest

from hingeline.demo.hands import Hands
from hingeline.demo.practice import HIDDEN, SCENARIO, SHEET, hands
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline_virtual.scenario_file import load_scenario

FULL_DEG = {("left", "up"): 14.0, ("left", "down"): -10.0, ("right", "up"): 12.0, ("right", "down"): -8.0}


@pytest.fixture
def tail():
    return Hands("elevator", FULL_DEG)


def typed(start, *keys):
    """Press keys; give the hands after them and what the last of them did."""
    deeds = ()
    for key in keys:
        start, deeds = start.after(key)
    return start, list(deeds)


def test_sensors_are_taped_and_laid(tail):
    taped, deeds = typed(tail, "t")
    assert deeds == [{"do": "tape", "sensor": side, "surface": f"elevator {side}"} for side in BOTH]
    assert typed(taped, "L")[1] == [{"do": "place", "sensor": "all", "face": "+z"}]


@pytest.mark.parametrize("key", ["\x1b[A", "\x1bOA", "\x1bH"])
def test_the_arrow_up_moves_the_stick_whatever_the_terminal_sends(tail, key):
    at_end, deeds = typed(tail, "t", key)
    assert deeds == [{"do": "stick", "position": "elevator up"}]
    assert typed(at_end, "c")[1] == [{"do": "stick", "position": "neutral"}]


def test_a_slow_stroke_goes_to_both_ends_and_back(tail):
    _, deeds = typed(tail, "t", "s")
    assert [deed["position"] for deed in deeds] == ["elevator up", "elevator down", "neutral"]
    assert all(deed["over_s"] >= 3 for deed in deeds)


def test_half_a_turn_of_the_clevis_moves_the_right_half_by_what_its_thread_does(tail):
    """0.2 mm, half of the pitch of M2 (ISO 261), at 12 mm from the hinge axis: atan(0.2 / 12) = 0.955°."""
    _, (deed,) = typed(tail, "t", "]")
    assert deed["surface"] == "elevator right"
    assert deed["neutral_by_deg"] == pytest.approx(0.955, abs=0.01)
    assert typed(tail, "t", "[")[1][0]["neutral_by_deg"] == -deed["neutral_by_deg"]


def test_an_end_point_is_turned_by_one_per_cent_where_the_stick_is(tail):
    at_end, (deed,) = typed(tail, "t", "\x1b[B", "4", "4")
    assert deed["surface"] == "elevator right"
    assert deed["positions"] == {"elevator down": pytest.approx(-8.16)}
    assert "(102 %)" in at_end.hint
    assert all(len(each.hint) < 80 for each in (tail, typed(tail, "t")[0], at_end)), "a row of a terminal"
    assert at_end.deflection_deg("right", "down") == pytest.approx(-8.16)
    assert at_end.deflection_deg("right", "up") == 12.0
    assert typed(at_end, *["3"] * 200)[0].end_point("right") == 30
    assert typed(tail, "t", "4")[1] == [], "with the stick centred no end point moves anything"


@pytest.mark.parametrize("key", [" ", "n", "b", "u", "?", "q", "x", "\x1b[C"])
def test_other_keys_are_left_to_the_measurement(tail, key):
    assert typed(tail, "t", key)[1] == []


def test_what_is_said_to_be_hidden_is_in_the_scenario():
    surfaces = {surface.name: surface for surface in load_scenario(SCENARIO).surfaces}
    left, right = surfaces["elevator left"], surfaces["elevator right"]
    up, down = (load_sheet(SHEET).surface("elevator").throws["normal"].signed()[way].value for way in ("up", "down"))
    assert right.neutral_deg - left.neutral_deg == -1.9
    assert left.positions["elevator up"] / up == pytest.approx(1.13, abs=0.005)
    assert right.positions["elevator down"] / down == pytest.approx(0.85, abs=0.005)
    assert left.mounting_yaw_deg == 6
    for figure in ("1.9°", "13 %", "15 %", "6°"):
        assert any(figure in text for text in HIDDEN)
    assert hands().full_deg["left", "up"] == 13.6
