"""The same picture on the live screen, in lines, and without colour: nothing is lost in any of them."""

import io
import re

import pytest
from rich.console import Console
from tests.host.view.pictures import BOTH, LOST, MATCH, PUSHED, gap, picture, sensor
from tests.host.wcag import contrast

from hingeline.view.digits import _FONT, ROWS, draw, width
from hingeline.view.live import BLUE, ORANGE, layout
from hingeline.view.picture import SensorState, Size
from hingeline.view.plain import EVERY_S, PlainLines, spoken

TOLD = {
    "asked": ["flap: down (normal), all the way, and hold."],
    "words": ["ADD", "EASE"],
    "gaps": ["-1.55", "+1.36"],
    "now, wanted, uncertainty": ["-21.9 mm", "-19.0 mm", "-20.4 mm", "±0.06"],
    "sensors": ["left sensor live, 24.3 °C", "right sensor live"],
}


def console(columns=80, rows=24, **options) -> Console:
    return Console(
        file=io.StringIO(),
        force_terminal=True,
        color_system="truecolor",
        width=columns,
        height=rows,
        record=True,
        **{"no_color": False, **options},
    )


def on_screen(shown, columns=80, rows=24, **options) -> str:
    terminal = console(columns, rows, **options)
    terminal.print(layout(shown, terminal.size, keys=True))
    return terminal.file.getvalue()


def read_large(text: str) -> str:
    """Read large letters of dots of two columns back from their lines."""
    lines = [line[::2] for line in text.splitlines()]
    letters = {rows: letter for letter, rows in _FONT.items() if letter != "0"} | {_FONT["0"]: "0"}
    found, column = "", 0
    while column < len(lines[0]):
        for size in (3, 1):
            rows = tuple(line[column : column + size].replace("█", "#").ljust(size) for line in lines)
            if rows in letters:
                found += letters[rows]
                column += size + 1
                break
        else:
            raise AssertionError(rows)
    return found


@pytest.mark.parametrize("text", ["+12.3", "-0.45", "+6789", "HOLD", "EASE", "ADD"])
def test_large_letters_can_be_told_apart(text):
    lines = draw(text, (2, 1))
    assert len(lines) == ROWS >= 5
    assert {len(line) for line in lines} == {width(text, (2, 1))}
    assert read_large("\n".join(lines)) == text


def test_no_two_letters_look_alike():
    assert len(set(_FONT.values())) == len(_FONT)


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


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (132, 43), (200, 60), (40, 24)])
def test_all_fits_the_terminal(columns, rows):
    lines = re.sub(r"\x1b\[[\d;]*m", "", on_screen(BOTH, columns, rows)).splitlines()
    assert len(lines) <= rows
    assert max(map(len, lines)) <= columns
    assert "…" not in "".join(lines)
    assert max(line.count("█") for line in lines) >= columns // 4  # large


def test_long_advice_is_shown_to_its_end():
    advice = (
        f"{'':13}right side: turn the clevis 2 half turns: trailing edge down 1.9°; 0.10° remains. "
        "If it gets worse, turn the other way: 4 half turns back"
    )
    shown = picture(gap("right", "EASE", -1.8, -1.5), told=(advice,))
    lines = re.sub(r"\x1b\[[\d;]*m", "", on_screen(shown)).splitlines()
    assert len(lines) <= 24
    assert " ".join(advice.split()) in " ".join(" ".join(lines).split())


def test_where_nothing_is_wanted_the_place_is_large():
    """No word and no gap: nothing is judged before it is measured."""
    lines = re.sub(r"\x1b\[[\d;]*m", "", on_screen(PUSHED)).splitlines()
    assert any(line.count("█") >= 80 // 5 for line in lines)
    text = "\n".join(lines)
    for part in ("left, mm from neutral", "±0.04", "left sensor live", "3 taken"):
        assert part in text
    assert "Taken back." in text
    assert spoken(PUSHED) == "left: -0.35 mm ±0.04 from neutral; left sensor live, 24.3 °C"


def test_a_sensor_without_a_seat_is_called_by_its_id():
    shown = picture(sensors=(SensorState("00abcd-104", "00abcd-104", "lost", 0.42, None),))
    assert spoken(shown) == "ALARM: sensor 00abcd-104 lost for 0.4 s"
    assert on_screen(shown).count("00abcd-104") == 1  # its state; the alarm is in capitals


def test_without_colour_nothing_is_lost():
    coloured, bare = on_screen(BOTH), on_screen(BOTH, no_color=True)
    plain = re.sub(r"\x1b\[[\d;]*m", "", bare)
    assert re.sub(r"\x1b\[[\d;]*m", "", coloured) == plain
    assert not re.search(r"\x1b\[[\d;]*\b(3[0-8]|4[0-8])\b", bare)
    for what in ("asked", "now, wanted, uncertainty", "sensors"):
        for part in TOLD[what]:
            assert part in plain


def test_colours_are_blue_and_orange_alone():
    assert {BLUE, ORANGE} == {"#0072B2", "#D55E00"}  # Okabe and Ito, Color Universal Design, 2008
    terminal = console()
    terminal.print(layout(BOTH, terminal.size, keys=True))
    used = set(re.findall(r"38;2;(\d+);(\d+);(\d+)", terminal.file.getvalue()))
    assert used == {("0", "114", "178"), ("213", "94", "0")}


@pytest.mark.parametrize("colour", [BLUE, ORANGE])
@pytest.mark.parametrize("ground", ["#000000", "#ffffff"])
def test_large_letters_stand_out_on_dark_and_on_light(colour, ground):
    assert contrast(colour, ground) >= 3  # WCAG 2.1, 1.4.3: large text, level AA


def test_a_lost_sensor_is_told_with_its_age_and_no_number():
    text = on_screen(LOST)
    assert "LEFT SENSOR LOST FOR 0.4 S" in text
    assert "█" not in text
    assert spoken(LOST) == "ALARM: left sensor lost for 0.4 s, 24.3 °C"


def test_a_line_says_all_that_the_screen_shows():
    line = spoken(BOTH)
    for what in ("words", "gaps", "now, wanted, uncertainty", "sensors"):
        for part in TOLD[what]:
            assert part in line


def test_lines_say_a_change_at_once_and_a_number_now_and_then():
    said, clock = [], [0.0]
    lines = PlainLines(said.append, lambda: clock[0])
    near = picture(gap(deg=1.5, mm=1.2), gap("right"))
    for shown, after_s, count in (
        (BOTH, 0.0, 1),
        (BOTH, EVERY_S, 1),  # nothing new
        (near, EVERY_S + 0.1, 2),  # another word
        (picture(gap(deg=1.4, mm=1.1), gap("right")), EVERY_S + 0.15, 2),  # another number
        (picture(gap(deg=1.4, mm=1.1), gap("right")), 2 * EVERY_S + 0.2, 3),
        (LOST, 2 * EVERY_S + 0.3, 4),
        (MATCH, 2 * EVERY_S + 0.4, 5),
        (picture(sensors=(sensor(condition="frozen"),)), 2 * EVERY_S + 0.5, 6),
    ):
        clock[0] = after_s
        lines.show(shown)
        assert len(said) == count
    assert said[3].startswith("ALARM: left sensor lost")
    assert said[5].startswith("ALARM: left sensor frozen")


def test_the_screen_exports():
    """As a picture for the documents; it has been looked at."""
    terminal = console()
    terminal.print(layout(BOTH, terminal.size, keys=True))
    svg = terminal.export_svg(title="hingeline")
    assert svg.count("<text") > 10
    assert "#d55e00" in svg
