"""Which of its positions a surface rests at, where the person does not hold the one that was asked for.

Shares of a throw are common practice, no source: 3 tenths off it is not the position that was asked for, a tenth off
it is another one, at 1.6 times as far an end point takes nothing, short of three quarters it is on its way.
"""

import pytest
from tests.host.checks.conftest import instrument, rest

from hingeline.checks.recognition import Recognition, is_part_way
from hingeline.checks.throws import ThrowsCheck
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH

SHEET = """
schema_version = 1
aircraft = "Out of Order"
modes = ["full", "part", "slow"]
[tolerances]
profile = "pattern"
[surface.elevator]
sides = ["left", "right"]
throws.full = { up = "10 deg", down = "20 deg" }
throws.part = { up = "7 deg" }
throws.slow = { up = "4 deg" }
[surface.aileron]
throws.full = { up = "20 deg", down = "10 deg" }
throws.slow = { up = "10 deg", down = "5 deg" }
"""


@pytest.fixture
def check_of(tmp_path):
    """Return a check of a surface, both sides at neutral, and its positions by mode and command."""
    path = tmp_path / "order.rig.toml"
    path.write_text(SHEET)

    def begin(surface):
        check = ThrowsCheck(load_sheet(path), surface, NeutralReading(tuple(map(instrument, BOTH)), rest(0, 0)))
        return check, {position.name: position for position, _ in check.stops(1)}

    return begin


@pytest.mark.parametrize(
    ("asked", "is_right_way", "now_deg", "rests_at"),
    [
        ("up (full)", False, (10, 10), "up (full)"),
        ("up (full)", False, (4, 4), "up (slow)"),
        ("up (slow)", False, (10, 10), "up (full)"),
        ("up (full)", False, (-20, -20), "up (full)"),  # a reversed servo, as far as is known
        ("up (full)", True, (-20, -20), "down (full)"),
        ("up (full)", True, (4, -4), "up (full)"),  # one side goes the other way
        ("up (full)", True, (7.2, 7.2), "up (full)"),
        ("up (full)", True, (6.9, 6.9), "up (part)"),
        ("up (full)", True, (6.9, 7.2), "up (part)"),  # one side is off what was asked for
        ("up (full)", True, (-18.1, -18.1), "down (full)"),
        ("up (full)", True, (-18.1, -17.9), "up (full)"),
        ("up (full)", True, (-21.9, -21.9), "down (full)"),
        ("up (full)", True, (-22.1, -22.1), "up (full)"),
        ("stick left (full)", False, (10, -5), "stick left (slow)"),
        ("stick left (full)", False, (-10, 20), "stick left (full)"),
        ("stick left (full)", True, (-10, 20), "stick right (full)"),
    ],
)
def test_a_rest_is_the_position_it_fits(check_of, asked, is_right_way, now_deg, rests_at):
    check, positions = check_of("aileron" if asked.startswith("stick") else "elevator")
    others = tuple(position for name, position in positions.items() if name != asked)
    position = Recognition(check, positions[asked], None, others, is_right_way).position(rest(*now_deg))
    assert position.name == rests_at


@pytest.mark.parametrize(
    ("was_deg", "now_deg", "rests_at"),
    [
        (10, 10, "up (full)"),
        (10, 15.9, "up (full)"),
        (10, 16.1, None),
        (12, 19.1, "up (full)"),
        (12, 19.3, None),
        (8, 15.9, "up (full)"),
        (12, 9, "up (full)"),  # an end point turned down a little too far
        (8, 7.9, None),  # it went back
        (8, -8, "down (full)"),
        (10, 0, None),
    ],
)
def test_a_position_that_was_read_is_followed_while_its_end_points_are_turned(check_of, was_deg, now_deg, rests_at):
    """Asked for the other end, the person turns an end point of the one that is held."""
    check, positions = check_of("elevator")
    held, asked = positions["up (full)"], positions["down (full)"]
    check, _ = check.read(held, rest(was_deg, was_deg))
    position = Recognition(check, asked, held, (), is_right_way=True).position(rest(now_deg, now_deg))
    assert (None if position is None else position.name) == rests_at


@pytest.mark.parametrize(
    ("now_deg", "part_way"),
    [((7.4, 7.4), True), ((7.6, 7.6), False), ((7.4, 7.6), False), ((0, 5), False), ((-5, -5), False), ((1, 1), True)],
)
def test_short_of_three_quarters_it_is_on_its_way(check_of, now_deg, part_way):
    check, positions = check_of("elevator")
    now = check.neutral.deflections(rest(*now_deg))
    assert is_part_way(positions["up (full)"], now) is part_way


def test_neutral_is_no_position_on_the_way(check_of):
    check, positions = check_of("elevator")
    assert not is_part_way(positions["neutral (full)"], check.neutral.deflections(rest(5, 5)))
