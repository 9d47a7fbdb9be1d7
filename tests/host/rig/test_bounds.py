"""The bounds that docs/rigging-sheet.md and the errors name: what is on them is taken, what is beyond is not."""

import pytest

from hingeline.errors import SheetError
from hingeline.rig import parse_sheet
from hingeline.rig.surface import THREAD_PITCH_MM

SHEET = """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
tolerances.throw = "{throw_tolerance}"
[surface.flap]
chord = "{chord}"
sweep = "{sweep}"
throws.normal = {{ up = "{throw}", differential = "{differential}" }}
[preset.normal.brakes]
flap = "{position}"
"""
USUAL = {
    "throw_tolerance": "1 mm",
    "chord": "50 mm",
    "sweep": "0 deg",
    "throw": "20 deg",
    "differential": "30 %",
    "position": "30 deg down",
}
BOUNDS = {
    "throw_tolerance": (["10 deg", "20 mm", "0.01 deg", "0.01 mm"], ["11 deg", "21 mm", "0.009 deg", "0.009 mm"]),
    "chord": (["5000 mm", "2 mm", "196.8 in"], ["5001 mm", "0 mm", "-1 mm", "197 in"]),
    "sweep": (["90 deg", "-90 deg", "0 deg"], ["91 deg", "-91 deg", "5 mm"]),
    "throw": (["90 deg", "20 mm"], ["91 deg", "501 mm", "0 deg", "-5 deg", "20 deg up"]),
    "differential": (["0 %", "99 %"], ["100 %", "-1 %", "30"]),
    "position": (
        ["90 deg down", "90 deg up", "40 mm down", "0 deg", "0 mm"],
        ["91 deg down", "91 deg up", "501 mm down", "501 mm up", "20 deg"],
    ),
}


def cases(is_taken):
    return [(key, figure) for key, figures in BOUNDS.items() for figure in figures[0 if is_taken else 1]]


@pytest.mark.parametrize(("key", "figure"), cases(is_taken=True))
def test_what_is_within_bounds_is_taken(key, figure):
    chord = {"chord": "1000 mm"} if key != "chord" else {}
    parse_sheet(SHEET.format(**{**USUAL, **chord, key: figure}), "even.rig.toml")


@pytest.mark.parametrize(("key", "figure"), cases(is_taken=False))
def test_what_is_beyond_is_refused_by_its_key(key, figure):
    with pytest.raises(SheetError, match=r"expected an? |can't|too far|no such"):
        parse_sheet(SHEET.format(**{**USUAL, "chord": "1000 mm", key: figure}), "even.rig.toml")


@pytest.mark.parametrize(("name", "is_taken"), [("W" * 40, True), ("W" * 41, False), ("W", True), (" W", False)])
def test_a_name_has_1_to_40_characters_and_no_blank_at_its_ends(name, is_taken):
    text = SHEET.format(**USUAL).replace('"Even"', f'"{name}"')
    if is_taken:
        assert parse_sheet(text, "even.rig.toml").aircraft == name
        return
    with pytest.raises(SheetError, match="1 to 40 printable characters"):
        parse_sheet(text, "even.rig.toml")


def test_down_is_as_much_less_than_up_as_the_differential_says():
    """30 % of 20° are 6°."""
    travel = parse_sheet(SHEET.format(**USUAL), "even.rig.toml").surfaces["flap"].throws["normal"]
    assert {way: measure.value for way, measure in travel.signed().items()} == pytest.approx({"up": 20, "down": -14})


def test_threads_have_the_pitch_of_their_names():
    """Metric: ISO 261, coarse. Imperial (ANSI/ASME B1.1): the second figure counts threads in an inch of 25.4 mm."""
    pitch_mm = {"M2": 0.4, "M2.5": 0.45, "M3": 0.5, "2-56": 25.4 / 56, "4-40": 25.4 / 40}
    assert pytest.approx(pitch_mm) == THREAD_PITCH_MM
