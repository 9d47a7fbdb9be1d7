"""Keys that are each right and contradict each other are told at their key, with line and cure."""

from __future__ import annotations

import re

import pytest

from hingeline.errors import SheetError
from hingeline.rig import parse_sheet


def sheet(surfaces: str, modes: str = '["low"]', top: str = "") -> str:
    return f'schema_version = 1\naircraft = "Try"\nmodes = {modes}\n{top}\n{surfaces}\n'


FLAP = '[surface.flap]\nchord = "50 mm"\n'
BARE = "[surface.flap]\n"
LOW = 'throws.low = { up = "5 deg" }\n'
STRIP = 'strip = { span = "1 mm", wing_chord = "2 mm", arm = "3 mm" }'
PRESET = "[preset.low.x]\n"

CASES = {
    "no mode": (sheet(BARE, modes="[]"), "modes", "at least one rate or flight mode"),
    "mode twice": (sheet(FLAP + LOW, modes='["low", "low"]'), "modes", "each mode once"),
    "mode unused": (sheet(FLAP + LOW, modes='["low", "high"]'), "modes", "a throw or a preset"),
    "mode misspelled": (
        sheet(FLAP + LOW + LOW.replace("low", "lwo")),
        "surface.flap.throws.lwo",
        "one of modes: low",
    ),
    "mode of a preset": (
        sheet(FLAP + LOW + '[preset.lo.x]\nflap = "1 deg up"'),
        "preset.lo",
        "one of modes: low",
    ),
    "side twice": (sheet(FLAP + LOW + 'sides = ["left", "left"]'), "surface.flap.sides", "one of the two"),
    "side and middle": (sheet(FLAP + LOW + 'sides = ["left", "middle"]'), "surface.flap.sides", "one piece"),
    "no side": (sheet(FLAP + LOW + "sides = []"), "surface.flap.sides", '["left", "right"]'),
    "table of another kind": (
        sheet(FLAP + 'as_rudder.low = { up = "5 deg" }'),
        "surface.flap.as_rudder",
        "throws on this kind, flap",
    ),
    "flap left": (sheet(FLAP + LOW.replace("up", "left")), "surface.flap.throws.low.left", "up or down on"),
    "rudder up": (sheet("[surface.rudder]\n" + LOW), "surface.rudder.throws.low.up", "left or right on"),
    "no direction": (sheet(FLAP + "throws.low = {}"), "surface.flap.throws.low", "up, down or both"),
    "differential without up": (
        sheet(FLAP + 'throws.low = { down = "5 deg", differential = "30 %" }'),
        "surface.flap.throws.low.differential",
        "up with either down or differential",
    ),
    "differential beside down": (
        sheet(FLAP + 'throws.low = { up = "9 deg", down = "5 deg", differential = "30 %" }'),
        "surface.flap.throws.low.differential",
        "up with either down or differential",
    ),
    "two neutrals": (
        sheet(FLAP + LOW + 'neutral = { faired = "1 mm up", level = "1 deg" }'),
        "surface.flap.neutral",
        "one of the two",
    ),
    "strip without chord": (
        sheet(BARE + LOW + STRIP),
        "surface.flap.chord",
        "the chord that strip goes with",
    ),
    "wing chord below chord": (
        sheet(FLAP + LOW + STRIP),
        "surface.flap.strip.wing_chord",
        "at least the surface's own chord, 50 mm",
    ),
    "counterbalance": (
        sheet(FLAP + LOW + 'counterbalance = "50 mm"'),
        "surface.flap.counterbalance",
        "less than the chord, 50 mm",
    ),
    "half a linkage": (
        sheet(FLAP + LOW + 'linkage = { thread = "M2", horn = "9 mm", rod = "50 mm" }'),
        "surface.flap.linkage",
        "arm, rod and horn_side together or none",
    ),
    "empty preset": (sheet(FLAP + LOW + PRESET), "preset.low.x", "a position of a surface"),
    "preset of nothing": (sheet(FLAP + LOW + PRESET + 'flpa = "1 deg up"'), "preset.low.x.flpa", "flap"),
    "preset left": (sheet(FLAP + LOW + PRESET + 'flap = "1 deg left"'), "preset.low.x.flap", "up or down"),
    "mm without chord": (
        sheet(BARE + LOW.replace("deg", "mm")),
        "surface.flap.chord",
        "the chord that 5 mm of surface.flap.throws.low.up is measured at",
    ),
    "tolerance without chord": (
        sheet(BARE + LOW, top='tolerances.match = "1 mm"'),
        "surface.flap.chord",
        "the chord that 1 mm of tolerances.match is measured at",
    ),
    # 90 deg at 50 mm chord: 2c sin 45 deg = 70.71 mm tip to tip, c = 50 mm high, c pi/2 = 78.54 mm along the arc
    "beyond ruler": (
        sheet(FLAP + LOW.replace("5 deg", "70.8 mm")),
        "surface.flap.throws.low.up",
        "at most 70.71 mm",
    ),
    "beyond height": (
        sheet(FLAP + LOW.replace("5 deg", "51 mm"), top='convention = "height"'),
        "surface.flap.throws.low.up",
        "at most 50 mm",
    ),
    "beyond arc": (
        sheet(FLAP + LOW + PRESET + 'flap = "78.6 mm down"', top='convention = "arc"'),
        "preset.low.x.flap",
        "at most 78.54 mm",
    ),
    "neutral beyond": (
        sheet(FLAP + LOW + 'neutral.faired = "80 mm up"'),
        "surface.flap.neutral.faired",
        "at most 70.71 mm",
    ),
}


@pytest.mark.parametrize(("text", "key", "expected"), CASES.values(), ids=CASES)
def test_a_contradiction_is_told_at_its_key(text, key, expected):
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "try.rig.toml")
    (mistake,) = caught.value.mistakes
    assert mistake.key == key
    assert expected in mistake.expected
    assert mistake.cure
    # the line has the last name of the key; of a key that is missing, it is the header of its table
    *_, table, name = re.findall(r"[\w-]+", "sheet." + key)
    assert (table if mistake.content == "missing" else name) in text.split("\n")[mistake.line - 1]


@pytest.mark.parametrize(
    ("throws", "content", "cure"),
    [
        ('down = "5 deg"', "differential beside down", "Take one of the two out"),
        ('up = "9 deg", down = "5 deg"', "differential beside down", "Take one of the two out"),
    ],
)
def test_what_is_wrong_with_a_differential_is_told(throws, content, cure):
    text = sheet(f'{BARE}throws.low = {{ {throws}, differential = "30 %" }}')
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "try.rig.toml")
    (mistake,) = caught.value.mistakes
    assert (mistake.content, mistake.cure) == (content, cure)


def test_a_differential_alone_lacks_its_up():
    with pytest.raises(SheetError) as caught:
        parse_sheet(sheet(f'{BARE}throws.low = {{ differential = "30 %" }}'), "try.rig.toml")
    told = {mistake.content: mistake.cure for mistake in caught.value.mistakes}
    assert told["differential without up"] == 'Add up = "10 mm"'


def test_all_contradictions_are_told_at_once_in_the_order_of_their_lines():
    text = sheet(BARE + 'chord = "50 mm"\ncounterbalance = "60 mm"\nthrows.lwo = { left = "80 mm" }', modes='["low"]')
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "try.rig.toml")
    assert [(mistake.line, mistake.key) for mistake in caught.value.mistakes] == [
        (3, "modes"),
        (7, "surface.flap.counterbalance"),
        (8, "surface.flap.throws.lwo"),
        (8, "surface.flap.throws.lwo.left"),
        (8, "surface.flap.throws.lwo.left"),
    ]
