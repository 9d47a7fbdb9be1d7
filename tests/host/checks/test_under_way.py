"""Which rests are the position that was asked for: who stays, is knocked or pauses on the way is not there yet."""

import pytest
from tests.host.checks.conftest import instrument, rest

from hingeline.checks.endpoints import BOTH_OTHER_WAY, ONE_OTHER_WAY, OTHER_WAY, REVERSE, STANDS
from hingeline.checks.throws import ThrowsCheck
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH

SHEET = """
schema_version = 1
aircraft = "Paused"
modes = ["normal", "slow"]
[surface.aileron]
throws.normal = { up = "10 deg", down = "5 deg" }
[surface.elevator]
sides = ["left", "right"]
throws.normal = { up = "11 deg", down = "11 deg" }
throws.slow = { up = "8 deg" }
[surface.flap]
throws.normal = { down = "45 deg" }
[surface.v-tail]
as_elevator.normal = { up = "8 deg", down = "8 deg" }
as_rudder.normal = { up = "9 deg", down = "9 deg" }
[preset.normal.start]
flap = "30 deg down"
[preset.normal.brake]
flap = "30.2 deg down"
v-tail = "4 deg up"
"""


@pytest.fixture
def check_of(tmp_path):
    """Return a check of a surface, both sides at neutral."""
    path = tmp_path / "paused.rig.toml"
    path.write_text(SHEET)
    return lambda surface: ThrowsCheck(
        load_sheet(path), surface, NeutralReading(tuple(map(instrument, BOTH)), rest(0, 0))
    )


@pytest.mark.parametrize(
    ("surface", "way", "asked", "there"),
    [
        ("elevator", ((11, 11), (12.5, 11)), "down", False),  # one sensor knocked
        ("elevator", ((11, 11), (9.4, 9.4)), "down", False),  # the stick relaxed
        ("elevator", ((11, 11), (5, 5)), "down", False),  # a pause
        ("elevator", ((11, 11), (1, 1)), "down", False),  # a pause at neutral
        ("elevator", ((11, 11), (-9, -9)), "down", True),
        ("elevator", ((11, 11), (-9, 11)), "down", True),  # one side is stuck: told
        ("elevator", ((-11, -11), (11, 11)), "down", True),  # reversed: told
        ("elevator", ((0, 0), (-11, -11)), "down", True),  # it did not move at "up"
        ("elevator", ((0.1, -0.1), (-11, -11)), "up", True),  # reversed
        ("elevator", ((-11, -11), (-9.4, -9.4)), "neutral", False),
        ("elevator", ((-5, -5), (-5, -5)), "neutral", False),  # half of the throw, and no way back yet
        ("elevator", ((-5, -5), (-1.5, -1.5)), "neutral", True),  # bad centring: told
        ("elevator", ((-16, -16), (-8.5, -8.5)), "neutral", False),
        ("elevator", ((0.02, 0.02), (0.05, 0.05)), "neutral", True),  # it moves nowhere: told
        ("aileron", ((10, -5), (5, -2.5)), "stick right", False),
        ("aileron", ((10, -5), (-5, 10)), "stick right", True),
        ("aileron", ((-5, 10), (10, -5)), "stick right", True),  # swapped
        ("flap", ((-45, -45), (-44, -47)), "start", False),
        ("flap", ((-45, -45), (-31, -31)), "start", True),
    ],
)
def test_who_has_not_gone_is_not_there(check_of, surface, way, asked, there):
    check, (was, now) = check_of(surface), way
    stops = [position for position, _ in check.stops(1)]
    number = next(place for place, one in enumerate(stops) if one.command == asked)
    if number:
        check, _ = check.read(stops[number - 1], rest(*was))
    assert check.under_way(stops[number], rest(*now)) is not there


def positions(check):
    return {(one.mode, one.command): one for one, _ in check.stops(1)}


@pytest.mark.parametrize(
    ("surface", "command", "now", "told"),
    [
        ("elevator", "up", (11, -11), (ONE_OTHER_WAY, OTHER_WAY.format(reverse=REVERSE[""]))),
        ("elevator", "up", (5, 0), (None, STANDS)),
        ("aileron", "stick left", (-5, 10), 2 * (BOTH_OTHER_WAY.format(reverse=REVERSE[""]),)),
        ("v-tail", "rudder left", (-4, -4), (ONE_OTHER_WAY, OTHER_WAY.format(reverse=REVERSE["mixed"]))),
        ("v-tail", "brake", (4.5, -4), (ONE_OTHER_WAY, OTHER_WAY.format(reverse=REVERSE["preset"]))),
    ],
)
def test_no_end_point_is_advised_before_a_side_goes_and_goes_its_way(check_of, surface, command, now, told):
    check = check_of(surface)
    _, reading = check.read(positions(check)["normal", command], rest(*now))
    left, right, *_ = (judgement.advice for judgement in reading.judgements)
    assert right == told[1]
    assert told[0] is None or left in (told[0], "")
    matches = [judgement for judgement in reading.judgements if judgement.name.startswith("left - right")]
    assert all(match.verdict == "NO VERDICT" for match in matches)


def test_after_a_side_came_back_off_that_comes_before_its_end_points(check_of):
    check = check_of("elevator")
    asked = positions(check)
    check, _ = check.read(asked["normal", "up"], rest(11, 11))
    check, at_neutral = check.read(asked["normal", "neutral"], rest(0, 1.5))
    _, back = at_neutral.judgements
    _, slow = check.read(asked["slow", "up"], rest(5.5, 12))
    left, right, _ = slow.judgements
    assert back.advice.startswith("it came back 1.5° off")
    assert right.advice == back.advice
    assert left.advice.startswith("set the slow rate from 100 % to 145 %"), "it was right in the other mode"


def test_a_position_that_looks_as_the_one_before_is_known(check_of):
    """Nothing moves from one to the other: it is taken as it stands."""
    check = check_of("flap")
    asked = positions(check)
    assert not check.looks_as_before(asked["normal", "down"])
    check, _ = check.read(asked["normal", "down"], rest(-45, -45))
    assert not check.looks_as_before(asked["normal", "start"])
    check, _ = check.read(asked["normal", "start"], rest(-30, -30))
    assert check.looks_as_before(asked["normal", "brake"])
    assert not check.under_way(asked["normal", "brake"], rest(-30, -30))
    assert not check.looks_as_before(asked["normal", "neutral"])
