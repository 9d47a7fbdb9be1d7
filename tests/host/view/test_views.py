"""The same picture on the live screen, in lines, and without colour: nothing is lost in any of them."""

import io
import json
import re
from dataclasses import fields, is_dataclass, replace

import pytest
from rich.color import Color, ColorSystem
from rich.console import Console
from rich.style import Style
from tests.host.view.pictures import BOTH, LOST, MATCH, PUSHED, READING, gap, picture, sensor
from tests.host.wcag import contrast

from hingeline.page.content import message
from hingeline.view.keys import LEGEND
from hingeline.view.live import ALARM, BLUE, ORANGE, REFRESH, LiveScreen, layout
from hingeline.view.picture import SensorState, Size
from hingeline.view.plain import EVERY_S, PlainLines, spoken, wrong

CORNER = "\x1b[1;1H"
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
        width=columns,
        height=rows,
        **{"color_system": "truecolor", "no_color": False, **options},
    )


def drawn(shown, *size, **options) -> Console:
    """Return a terminal on which a picture has been drawn."""
    terminal = console(*size, **options)
    LiveScreen(terminal, keys=True).show(shown)
    return terminal


def on_screen(shown, columns=80, rows=24, **options) -> str:
    return "\n".join(
        row.rstrip() for row in frame_rows(drawn(shown, columns, rows, **options).file.getvalue())
    )


def frame_rows(frame: str) -> list[str]:
    """Return the rows that were drawn."""
    return re.split(r"\x1b\[\d+;1H", frame)[1:]


def bare(text: str) -> str:
    """Return a text without its colours."""
    return re.sub(r"\x1b\[[\d;]*m", "", text)


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


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (132, 43), (200, 60), (100, 30), (60, 20), (40, 24)])
def test_all_fits_the_terminal(columns, rows):
    lines = bare(on_screen(BOTH, columns, rows)).splitlines()
    assert len(lines) <= rows
    assert max(map(len, lines)) <= columns
    assert "…" not in "".join(lines)
    assert max(line.count("█") for line in lines) >= columns // 4  # large


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (100, 30), (60, 20)])
@pytest.mark.parametrize("alarmed", [False, True])
def test_the_longest_is_shown_to_its_end(columns, rows, alarmed):
    advice = (
        f"{'':13}right side: turn the clevis 2 half turns: trailing edge down 1.9°; 0.10° remains. "
        "If it gets worse, turn the other way: 4 half turns back"
    )
    shown = picture(*(() if alarmed else BOTH.gaps), told=(advice,), captured=12, taken_back=3)
    if alarmed:
        shown = replace(shown, sensors=LOST.sensors)
    lines = bare(on_screen(shown, columns, rows)).splitlines()
    assert len(lines) <= rows
    for text in (shown.asked, advice, "12 taken, 3 taken back", LEGEND):
        assert " ".join(text.split()) in " ".join(" ".join(lines).split())


@pytest.mark.parametrize(
    ("gaps", "columns", "rows", "first"),
    [
        ((), 80, 24, "Neutral taken."),
        ((), 100, 40, "Neutral taken."),
        ((), 60, 20, "Neutral taken."),
        (BOTH.gaps, 80, 24, "right "),
        (BOTH.gaps, 100, 40, "Neutral taken."),
        (BOTH.gaps, 60, 20, "left - right"),
    ],
)
def test_the_last_reading_is_whole_where_the_rows_allow(gaps, columns, rows, first):
    """Where they don't, its last lines are, and no advice without the side that it is for."""
    lines = bare(on_screen(picture(*gaps, told=("Neutral taken.", READING)), columns, rows)).splitlines()
    assert len(lines) == rows
    assert max(map(len, lines)) <= columns
    assert lines[-1].split()[-1] == LEGEND.split()[-1]
    shown = " ".join(" ".join(lines).split())
    told = " ".join(f"Neutral taken. {READING}".split())
    assert f"(00abcd-right) {told[told.index(first) :]} 0 taken" in shown


def test_one_line_that_does_not_fit_is_cut_at_its_end():
    text = bare(on_screen(picture(*BOTH.gaps, told=("Neutral taken.", "word " * 70 + "end")), 60, 20))
    assert " word …\n0 taken" in text


def test_rows_that_are_left_show_what_was_told_before():
    shown = picture(*BOTH.gaps, told=("Neutral taken.", READING, "Not there yet."))
    for columns, rows, before in ((100, 40, True), (80, 24, False), (60, 20, False)):
        text = bare(on_screen(shown, columns, rows))
        assert "Not there yet." in text
        assert ("flap, up (normal)" in text) == ("left - right" in text) == before


def test_a_larger_terminal_has_larger_numbers():
    """Down to the smallest the word is as large as the number, until there is no room for it."""
    heights = [on_screen(BOTH, columns, rows).count("█") for columns, rows in ((60, 20), (80, 24), (132, 43))]
    assert heights == sorted(heights)
    assert "ADD" in bare(on_screen(BOTH, 60, 20))


def test_where_nothing_is_wanted_the_place_is_large():
    """No word and no gap: nothing is judged before it is measured."""
    lines = bare(on_screen(PUSHED)).splitlines()
    assert any(line.count("█") >= 80 // 5 for line in lines)
    text = "\n".join(lines)
    for part in ("left, mm from neutral", "±0.04", "left sensor live", "3 taken"):
        assert part in text
    assert "Taken back: reading 3 of 8." in text
    assert spoken(PUSHED) == "left: -0.35 mm ±0.04 from neutral; left sensor live, 24.3 °C; 3 taken"


def test_a_sensor_without_a_seat_is_called_by_its_id():
    shown = picture(sensors=(SensorState("00abcd-104", "00abcd-104", "lost", 0.42, None),))
    assert wrong(shown) == "ALARM: sensor 00abcd-104 lost for 0.4 s"
    assert on_screen(shown).count("00abcd-104") == 1  # its state; the alarm is in capitals


@pytest.mark.parametrize("shown", [BOTH, MATCH, PUSHED, LOST], ids=["off", "match", "pushed", "lost"])
def test_without_colour_nothing_is_lost(shown):
    coloured, colourless = on_screen(shown), on_screen(shown, no_color=True)
    assert bare(coloured) == bare(colourless)
    assert not re.search(r"\x1b\[[\d;]*\b(3[0-8]|4[0-8])\b", colourless)
    for parts in (TOLD["asked"], TOLD["now, wanted, uncertainty"], TOLD["sensors"]) if shown is BOTH else ():
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


_OTHER = {"ADD": "EASE", "EASE": "ADD", "mm": "deg", "deg": "mm", "live": "moving", "lost": "frozen"}


@pytest.mark.parametrize(
    "shown", [BOTH, replace(BOTH, unit="deg"), PUSHED, LOST], ids=["off", "off by degrees", "pushed", "lost"]
)
def test_what_changes_the_screen_changes_the_lines(shown):
    """Field by field; the lines are what a command asks and tells, each as it comes, and what is spoken meanwhile."""

    def lines(picture):
        return picture.asked, *picture.told, spoken(picture)

    changed = {path: other for path, other in others(shown) if on_screen(other) != on_screen(shown)}
    kept_back = {path[-1] for path, other in changed.items() if lines(other) == lines(shown)}
    assert len(changed) >= 10
    assert kept_back == {"sensor_id"}  # told once, when the sides are taken


def test_colours_are_blue_and_orange_alone():
    assert {BLUE, ORANGE} == {"#0072B2", "#D55E00"}  # Okabe and Ito, Color Universal Design, 2008
    used = set(re.findall(r"38;2;(\d+);(\d+);(\d+)", on_screen(BOTH)))
    assert used == {("0", "114", "178"), ("213", "94", "0")}


def seen(colour: str, system: ColorSystem) -> str:
    """Return what a terminal of so many colours makes of a colour."""
    return Color.parse(colour).downgrade(system).get_truecolor().hex


@pytest.mark.parametrize("system", [ColorSystem.TRUECOLOR, ColorSystem.EIGHT_BIT])
@pytest.mark.parametrize("ground", ["#000000", "#ffffff"])
def test_colours_stand_out_on_dark_and_on_light(system, ground):
    for colour in (BLUE, ORANGE):
        assert contrast(seen(colour, system), ground) >= 3  # WCAG 2.1, 1.4.3, level AA: large text
    _, ink, _, paper = ALARM.split()
    assert contrast(seen(ink, system), seen(paper, system)) >= 4.5  # any text


def test_nothing_but_the_large_is_in_colour_and_nothing_is_dim():
    for shown in (BOTH, PUSHED, LOST):
        for text, named in (part for row in layout(shown, console().size, keys=True) for part in row):
            style = Style.parse(named)
            if text.strip():
                assert not style.dim
                if style.color is not None and style.bgcolor is None:
                    assert set(text) <= {"█", " "}


@pytest.mark.parametrize(("system", "coloured"), [("truecolor", True), ("256", True), ("standard", False)])
def test_of_sixteen_colours_none_is_used(system, coloured):
    """They are what the user made of them: no contrast is sure."""
    terminal = console(color_system=system)
    with LiveScreen(terminal, keys=True) as screen:
        screen.show(BOTH)
    assert bool(re.search(r"\x1b\[[\d;]*\b3[0-8]\b", terminal.file.getvalue())) == coloured


def test_a_screen_is_drawn_over_the_one_before_without_a_flicker():
    """No screen and no line is cleared between two pictures; what changed is drawn as broad as the screen, no more."""
    terminal = console()
    with LiveScreen(terminal, keys=True) as screen:
        screen.show(BOTH)
        terminal.file.seek(0)
        terminal.file.truncate()
        screen.show(MATCH)
        frame = terminal.file.getvalue()
    assert not re.search(r"\x1b\[\d*[JKP]", frame)
    rows = frame_rows(bare(frame))
    assert 1 < len(rows) < terminal.height
    assert {len(row) for row in rows} == {terminal.width}
    assert not any(BOTH.asked in row for row in rows)


def test_all_is_drawn_about_once_a_second_and_on_another_size():
    terminal = console()
    with LiveScreen(terminal, keys=True) as screen:
        for _ in range(3 * REFRESH):
            screen.show(BOTH)
        assert terminal.file.getvalue().count(CORNER) == 3
        assert len(frame_rows(terminal.file.getvalue())) == 3 * 24
        terminal.size = (100, 30)
        screen.show(BOTH)
        assert len(frame_rows(terminal.file.getvalue())) == 3 * 24 + 30


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


@pytest.mark.parametrize(
    "name", ["[bold red]x[/]", "<script>alert(1)</script>", "{{ 7 * 7 }}", "../../etc", "$(id)"]
)
def test_a_hostile_name_is_a_name_on_screen_in_lines_and_on_the_page(name):
    """A sheet with what does not print is refused: rig/test_hostile.py."""
    shown = replace(BOTH, asked=f"{name}: up.", told=(f"{name}: taken.",), problem=f"{name} is upside down.")
    lines = bare(on_screen(shown))
    assert lines.count(name) == 3
    assert name in spoken(shown)
    told, *rest = message(shown).decode().splitlines()
    assert rest == [""]
    assert json.loads(told.removeprefix("data: "))["asked"] == f"{name}: up."
