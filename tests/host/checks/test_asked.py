"""What a rigging sheet asks for: neutrals of what has two sides or a place of its own, and every throw."""

import pytest

from hingeline.checks.positions import Measure, Place, asked, places
from hingeline.rig import parse_sheet

SHEET = """
schema_version = 1
aircraft = "Fern Kestrel"
modes = ["low", "high"]
[surface.aileron.throws]
low = { up = "8 deg", down = "5 deg" }
high = { up = "15 deg" }
[surface.elevator]
throws.high = { down = "9 deg" }
"""


@pytest.mark.parametrize(
    ("neutral", "command"),
    [("", []), ('faired = "0 mm"', ["neutral"]), ('level = "-1.5 deg"', ["neutral"])],
)
def test_one_piece_has_a_neutral_where_the_sheet_gives_it_a_place(neutral, command):
    sheet = parse_sheet(f"{SHEET}chord = '40 mm'\nneutral = {{ {neutral} }}\n", "try.rig.toml")
    assert [one.command for one in asked(sheet) if one.surface == "elevator"] == [*command, "throws"]


def test_throws_are_measured_in_every_mode_as_the_stick_commands_them():
    sheet = parse_sheet(SHEET, "try.rig.toml")
    assert list(places(sheet, Measure("throws", "aileron"))) == [
        Place("aileron", "low", "stick left"),
        Place("aileron", "low", "stick right"),
        Place("aileron", "high", "stick left"),
        Place("aileron", "high", "stick right"),
    ]
    assert list(places(sheet, Measure("neutral", "aileron"))) == [Place("aileron", "", "neutral")]
