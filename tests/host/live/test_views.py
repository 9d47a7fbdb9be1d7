"""The same state on the live screen, in lines, and without colour: nothing is lost in any of them."""

import json
import re
from dataclasses import fields, is_dataclass, replace

import pytest
from tests.host.live.states import BOTH, LOST, MATCH, PUSHED, gap, sensor, state
from tests.host.live.terminal import bare, on_screen

from hingeline.live.page.content import message
from hingeline.live.plain import EVERY_S, PlainLines, spoken, wrong
from hingeline.procedures.state import SensorState, Size

CORNER = "\x1b[1;1H"
TOLD = {
    "ask": ["flap: down (normal), all the way, and hold."],
    "words": ["LESS", "MORE"],
    "gaps": ["LESS 1.6 mm", "MORE 1.4 mm"],
    "now, wanted, uncertainty": ["-21.9 mm", "-19.0 mm", "-20.4 mm", "±0.06"],
    "sensors": ["left sensor live, 24.3 °C", "right sensor live"],
}


@pytest.mark.parametrize(
    ("size", "unit", "text"),
    [
        (Size(1.234, 1.03), "mm", "+1.03 mm"),
        (Size(-1.234, -1.03), "deg", "-1.23°"),
        (Size(1.0, 25.4), "in", "+1.00 in"),
        (Size(1.0, -12.7), "in", "-.500 in"),
        (Size(12.345), "mm", "+12.3°"),  # without a chord there are no mm
        (Size(-0.001), "deg", "+0.00°"),
        (Size(9.999), "deg", "+10.0°"),
        (Size(123.4, 123.4), "mm", "+123 mm"),
    ],
)
def test_a_number_has_sign_and_unit(size, unit, text):
    assert size.text(unit) == text


def test_where_nothing_is_wanted_the_place_is_large():
    """No word and no gap: nothing is judged before it is measured."""
    lines = bare(on_screen(PUSHED)).splitlines()
    assert any(line.count("█") >= 80 // 5 for line in lines)
    text = "\n".join(lines)
    for part in ("LEFT, mm from neutral", "±0.04", "left sensor live", "3 taken"):
        assert part in text
    assert "Taken back: reading 3 of 8." in text
    assert spoken(PUSHED) == "left: -0.35 mm ±0.04 from neutral; left sensor live, 24.3 °C; 3 taken"


def test_a_sensor_without_a_seat_is_called_by_its_id():
    shown = state(sensors=(SensorState("00abcd-104", "00abcd-104", "lost", age_s=0.42),))
    assert wrong(shown) == "ALARM: sensor 00abcd-104 lost for 0.4 s"
    assert on_screen(shown).count("00abcd-104") == 1  # its state; the alarm is in capitals


@pytest.mark.parametrize("shown", [BOTH, MATCH, PUSHED, LOST], ids=["off", "match", "pushed", "lost"])
def test_without_colour_nothing_is_lost(shown):
    coloured, colourless = on_screen(shown), on_screen(shown, no_color=True)
    assert bare(coloured) == bare(colourless)
    assert not re.search(r"\x1b\[[\d;]*\b(3[0-8]|4[0-8])\b", colourless)
    for parts in (TOLD["ask"], TOLD["now, wanted, uncertainty"], TOLD["sensors"]) if shown is BOTH else ():
        assert all(part in bare(colourless) for part in parts)


def others(value):
    """Yield a value with each part of it, however deep, changed alone, and the path of the part."""
    if is_dataclass(value):
        for field in fields(value):
            for path, other in others(getattr(value, field.name)):
                yield (field.name, *path), replace(value, **{field.name: other})
    elif isinstance(value, tuple):
        for index, one in enumerate(value):
            for path, other in others(one):
                yield (index, *path), (*value[:index], other, *value[index + 1 :])
    elif isinstance(value, str):
        yield (), _OTHER.get(value, f"{value} too")
    elif value is not None:
        yield (), 2 * value + 1


_OTHER = {"MORE": "LESS", "LESS": "MORE", "mm": "deg", "deg": "mm", "live": "moving", "lost": "frozen"}


@pytest.mark.parametrize(
    "shown", [BOTH, replace(BOTH, unit="deg"), PUSHED, LOST], ids=["off", "off by degrees", "pushed", "lost"]
)
def test_what_changes_the_screen_changes_the_lines(shown):
    """Field by field; the lines are what a command asks and tells, each as it comes, and what is spoken meanwhile."""

    def lines(shown):
        return shown.ask, *shown.messages, spoken(shown)

    changed = {path: other for path, other in others(shown) if on_screen(other) != on_screen(shown)}
    kept_back = {path[-1] for path, other in changed.items() if lines(other) == lines(shown)}
    assert len(changed) >= 10
    assert not kept_back


def test_a_lost_sensor_is_told_with_its_age_and_no_number():
    text = on_screen(LOST)
    assert "LEFT SENSOR LOST FOR 0.4 S" in text
    assert "█" not in text
    assert spoken(LOST) == "ALARM: left sensor lost for 0.4 s, 24.3 °C; right sensor live, 24.3 °C; 0 taken"


def test_a_line_says_all_that_the_screen_shows():
    line = spoken(BOTH)
    for what in ("words", "gaps", "now, wanted, uncertainty", "sensors"):
        for part in TOLD[what]:
            assert part in line


def test_lines_say_a_change_at_once_and_a_number_now_and_then():
    said, clock = [], [0.0]
    lines = PlainLines(said.append, lambda: clock[0], spoken)
    near = state(gap(deg=1.5, mm=1.2), gap("right"))
    for shown, after_s, count in (
        (BOTH, 0.0, 1),
        (BOTH, EVERY_S, 1),  # nothing new
        (near, EVERY_S + 0.1, 2),  # another word
        (state(gap(deg=1.4, mm=1.1), gap("right")), EVERY_S + 0.15, 2),  # another number
        (state(gap(deg=1.4, mm=1.1), gap("right")), 2 * EVERY_S + 0.2, 3),
        (LOST, 2 * EVERY_S + 0.3, 4),
        (MATCH, 2 * EVERY_S + 0.4, 5),
        (state(sensors=(sensor(condition="frozen"),)), 2 * EVERY_S + 0.5, 6),
    ):
        clock[0] = after_s
        lines.show(shown)
        assert len(said) == count
    assert said[3].startswith("ALARM: left sensor lost")
    assert said[5].startswith("ALARM: left sensor frozen")


@pytest.mark.parametrize("name", ["[bold red]x[/]", "<script>alert(1)</script>", "{{ 7 * 7 }}", "../../etc", "$(id)"])
def test_a_hostile_name_is_a_name_on_screen_in_lines_and_on_the_page(name):
    """A sheet with what does not print is refused: rig/test_hostile.py."""
    shown = replace(BOTH, ask=f"{name}: up.", messages=(f"{name}: taken.",), problem=f"{name} is upside down.")
    lines = bare(on_screen(shown))
    assert lines.count(name) == 3
    assert name in spoken(shown)
    told, *rest = message(shown).decode().splitlines()
    assert rest == [""]
    assert json.loads(told.removeprefix("data: "))["ask"] == f"{name}: up."


@pytest.mark.parametrize(
    ("reach", "unit", "shown"),
    [(0.04, "mm", "-1.36"), (0.05, "mm", "-1.36"), (0.06, "mm", "-1.4"), (0.04, "in", "-.054"), (0.06, "in", "-.05")],
)
def test_a_digit_that_its_uncertainty_covers_is_left_out(reach, unit, shown):
    assert Size(-1.63, -1.36).number(unit, Size(reach, reach)) == shown
