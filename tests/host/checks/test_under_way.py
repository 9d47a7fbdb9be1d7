"""Which rests are the position that was asked for: who stays, is knocked or pauses on the way is not there yet."""

import pytest
from tests.host.checks.conftest import instrument, rest

from hingeline.checks.throws import ThrowsCheck
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH

SHEET = """
schema_version = 1
aircraft = "Paused"
modes = ["normal"]
[surface.aileron]
throws.normal = { up = "10 deg", down = "5 deg" }
[surface.elevator]
sides = ["left", "right"]
throws.normal = { up = "11 deg", down = "11 deg" }
[surface.flap]
throws.normal = { down = "45 deg" }
[preset.normal.start]
flap = "30 deg down"
"""


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
def test_who_has_not_gone_is_not_there(tmp_path, surface, way, asked, there):
    was, now = way
    path = tmp_path / "paused.rig.toml"
    path.write_text(SHEET)
    check = ThrowsCheck(load_sheet(path), surface, tuple(map(instrument, BOTH)), rest(0, 0))
    stops = [(position, before) for position, _, before in check.stops(1)]
    (position, before) = next(one for one in stops if one[0].command == asked)
    if before.targets:
        check.read(before, rest(*was))
    assert check.under_way(position, before, rest(*now)) is not there
