"""What a surface's settings sheet says of throws that were not read."""

from hingeline.checks.results import SettingSheet
from hingeline.checks.settings import sheet_text
from hingeline.checks.values import SettingChange

UNREAD = ("left up (high)", "right up (high)")


def test_a_throw_that_was_not_read_is_named_beside_what_to_turn():
    sheet = SettingSheet("flap", (SettingChange("up end point", "12 % more", "left"),), unread=UNREAD)
    assert sheet_text(sheet).splitlines() == [
        "What to turn on the flap:",
        "  left servo   up end point: 12 % more",
        "  not read, so not taken into account: left up (high), right up (high)",
    ]


def test_where_all_was_read_nothing_is_said_of_it():
    sheet = SettingSheet("flap", (SettingChange("up end point", "12 % more", "left", 80, 92),), {"up end point": 80})
    assert sheet_text(sheet).splitlines() == ["What to turn on the flap:", "  left servo   up end point: 12 % more"]


def test_where_nothing_is_to_be_turned_there_is_no_sheet():
    assert sheet_text(SettingSheet("flap", unread=UNREAD)) == ""
