"""Page one says whether all is within the tolerances; the settings card says what is set, and what throws it gave."""

import pytest
from tests.host.report.conftest import judged
from tests.host.report.pages import Page

from hingeline.demo.job import SHEET
from hingeline.report.card import Line, settings_card
from hingeline.report.page import report_page

TEXT = SHEET.read_text("utf-8")
SHEET_LOADED = "loaded", {"name": "sheet", "key": "Moss Lantern", "payload": {"text": TEXT}}


def throw(surface, command, left=None, right=None, mode="normal"):
    judgements = [judged("left", **left or {}), judged("right", **right or {})]
    return "throw", {"surface": surface, "mode": mode, "command": command, "judgements": judgements}


def whole(**left):
    """All that the demonstration's sheet asks for; changes of the last left reading."""
    neutrals = [("neutral", {"surface": name, "judgements": [judged()]}) for name in ("flap", "elevator")]
    ups = [throw(name, "up") for name in ("flap", "elevator")]
    return (SHEET_LOADED, *neutrals, *ups, throw("flap", "down"), throw("elevator", "down", left))


def overall(results, drift=()):
    words = Page(report_page(results, drift)).text
    return "NOT WITHIN the tolerances" not in words and "WITHIN the tolerances" in words


def test_within_only_where_all_that_the_sheet_asks_for_was_measured_and_is(made):
    assert overall(made(*whole()))
    assert not overall(made(*whole()[:-1])), "one position was not measured"
    assert not overall(made(*whole()[1:])), "without a sheet nobody knows what is missing"
    assert not overall(made(*whole(inside=False, verdict="MORE")))
    assert not overall(made(*whole(inside=False, verdict="NO VERDICT")))
    assert not overall(made(*whole()), ("the datum did not hold",))


@pytest.mark.parametrize(
    ("kind", "fields"),
    [
        ("settings", {"surface": "flap", "changes": [{"name": "left end point up", "text": "100 → 93 %"}]}),
        (
            "direction",
            {
                "surface": "flap",
                "command": "up",
                "sides": {"left": {"deg": -5.0, "went": "down", "expected": "up", "right_way": False}},
                "inside": False,
            },
        ),
    ],
)
def test_not_within_where_something_is_to_be_turned_or_goes_the_wrong_way(made, kind, fields):
    assert not overall(made(*whole(), (kind, fields)))


def test_what_goes_the_wrong_way_and_a_datum_that_went_are_to_do(made):
    side = {"deg": -5.0, "went": "down", "expected": "up", "right_way": False}
    direction = "direction", {"surface": "flap", "command": "up", "sides": {"left": side}, "inside": False}
    words = Page(report_page(made(*whole(), direction), ("the datum did not hold",))).text
    to_do = words[words.index("Still to do") : words.index("Verdict")]
    assert "WRONG WAY flap, up" in to_do
    assert "the datum did not hold" in to_do


def test_a_card_has_each_servo_with_what_is_known_and_empty_cells_for_the_rest(made):
    change = {"name": "left end point up", "text": "", "side": "left", "now_percent": 100, "new_percent": 93}
    settings = {"surface": "flap", "changes": [change], "now_percent": {"right end point down": 80}}
    mm = {"mm": -20.44, "convention": "ruler", "interval_95_mm": [-20.7, -20.1]}
    down = {"deg": -24.6, "unit": "mm", "travel": mm}
    flap, elevator = settings_card(
        made(
            SHEET_LOADED,
            throw("flap", "up", {"deg": 5.04}, {"deg": 6.31, "inside": False, "verdict": "LESS"}),
            throw("flap", "down", down, {**down, "verdict": "NO VERDICT", "inside": False}),
            ("settings", settings),
        )
    )
    assert (flap.surface, flap.sides) == ("flap", ("left", "right"))
    assert flap.settings == (
        Line("sub-trim", ("", "")),
        Line("end point up", ("set 93 %", "")),
        Line("end point down", ("", "80 %")),
        Line("differential", ("",)),
    )
    assert flap.throws == (
        Line("up · normal", ("+5.0°", "+6.3° LESS")),
        Line("down · normal", ("−20.4 mm", "NO VERDICT")),
    )
    assert elevator.throws == (
        Line("up · normal", ("not measured",)),
        Line("down · normal", ("not measured",)),
    )


def test_rates_and_mixes_stand_on_a_card_without_those_of_one_side_that_nobody_set(made):
    text = TEXT.replace('modes = ["normal"]', 'modes = ["normal", "speed"]').replace(
        "[surface.elevator]",
        '[preset.speed.camber]\nflap = "2 deg up"\n[surface.elevator]\nthrows.speed = { up = "2 deg" }',
    )
    sheet = "loaded", {"name": "sheet", "key": "Moss Lantern", "payload": {"text": text}}
    now = "settings", {"surface": "elevator", "now_percent": {"down side of the normal differential": 20}}
    flap, elevator = settings_card(made(sheet, throw("flap", "up"), now))
    assert [line.name for line in flap.settings][3:] == ["camber mix in speed", "differential"]
    shared = {line.name: line.values for line in elevator.settings[3:]}
    assert shared == {"normal rate": ("",), "speed rate": ("",), "down side of the normal differential": ("20 %",)}


def test_a_throw_that_a_setting_cures_is_to_do_once_and_one_read_after_it_again(made):
    """A setting sheet knows the throws before it; a run that was stopped has none of its own."""
    out = {"inside": False, "verdict": "LESS", "advice": "100 → 93 %"}
    change = {"name": "left end point up", "text": "set it from 100 % to 93 %"}
    sheet = "settings", {"surface": "flap", "changes": [change]}

    def to_do(*events):
        words = Page(report_page(made(*events))).text
        return "What to turn" in words, "LESS" in words[: words.index("Verdict")]

    assert to_do(throw("flap", "up", out), sheet) == (True, False)
    assert to_do(throw("flap", "up", out), sheet, throw("flap", "down", out)) == (True, True)
