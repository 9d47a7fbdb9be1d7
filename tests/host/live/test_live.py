"""The live screen on terminals of any size: all of it, large, without a flicker, in two colours."""

import re
from dataclasses import replace

import pytest
from rich.color import Color, ColorSystem
from rich.style import Style
from tests.host.live.states import BOTH, LOST, MATCH, PUSHED, READING, gap, state
from tests.host.live.terminal import bare, console, frame_rows, on_screen
from tests.host.wcag import contrast

from hingeline.live.digits import draw
from hingeline.live.screen import ALARM, QUIET, REFRESH, LiveScreen, layout
from hingeline.procedures.keys import KEYS_TEXT
from hingeline.units import BLUE, ORANGE
from hingeline.web.address import code

CORNER = "\x1b[1;1H"
URL = "http://192.168.178.123:8765/abcdefghijklmnop/"


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
    shown = state(*(() if alarmed else BOTH.gaps), messages=(advice,), taken=12, taken_back=3)
    if alarmed:
        shown = replace(shown, sensors=LOST.sensors)
    lines = bare(on_screen(shown, columns, rows)).splitlines()
    assert len(lines) <= rows
    for text in (shown.ask, advice, "12 taken, 3 taken back", KEYS_TEXT):
        assert " ".join(text.split()) in " ".join(" ".join(lines).split())


@pytest.mark.parametrize(
    ("gaps", "columns", "rows", "told"),
    [
        ((), 80, 24, ["Neutral taken.", *READING.splitlines()]),
        ((), 100, 40, ["Neutral taken.", *READING.splitlines()]),
        ((), 60, 20, ["Neutral taken.", *READING.splitlines()]),
        (BOTH.gaps, 80, 24, [*READING.splitlines()]),
        (BOTH.gaps, 80, 25, [*READING.splitlines()]),
        (BOTH.gaps, 100, 40, ["Neutral taken.", *READING.splitlines()]),
        (BOTH.gaps, 60, 20, [*READING.splitlines()]),
    ],
)
def test_the_last_reading_is_whole_where_the_rows_allow(gaps, columns, rows, told):
    """Before sensors that are well."""
    lines = bare(on_screen(state(*gaps, messages=("Neutral taken.", READING)), columns, rows)).splitlines()
    assert len(lines) == rows
    assert max(map(len, lines)) <= columns
    assert lines[-1].split()[-1] == KEYS_TEXT.split()[-1]
    shown = " ".join(" ".join(lines).split())
    assert f"{' '.join(' '.join(told).split())} 0 taken" in shown


def test_one_line_that_does_not_fit_is_cut_at_its_end():
    text = bare(on_screen(state(*BOTH.gaps, messages=("Neutral taken.", "word " * 70 + "end")), 60, 20))
    assert " word …\n0 taken" in text


def test_rows_that_are_left_show_what_was_told_before():
    shown = state(*BOTH.gaps, messages=("Neutral taken.", READING, "Not there yet."))
    for columns, rows, before in ((100, 40, True), (80, 24, False), (60, 20, False)):
        text = bare(on_screen(shown, columns, rows))
        assert "Not there yet." in text
        assert ("flap, up (normal)" in text) == ("left - right" in text) == before


def test_a_larger_terminal_has_larger_numbers():
    """Down to the smallest the word is as large as the number, until there is no room for it."""
    heights = [on_screen(BOTH, columns, rows).count("█") for columns, rows in ((60, 20), (80, 24), (132, 43))]
    assert heights == sorted(heights)
    assert "MORE" in bare(on_screen(BOTH, 60, 20))


def dots_of(text: str, lines: list[str]) -> list[tuple[int, int]]:
    """The sizes in which large letters stand among lines."""
    return [
        dot
        for dot in ((8, 4), (6, 3), (4, 2), (3, 2), (2, 1), (1, 1))
        for drawn in [draw(text, dot)]
        if any(
            all(row in line.ljust(200) for row, line in zip(drawn, lines[start:], strict=False))
            for start in range(len(lines) - len(drawn) + 1)
        )
    ]


@pytest.mark.parametrize(("columns", "rows", "least"), [(80, 24, 2), (100, 30, 2), (120, 40, 2), (200, 60, 4)])
def test_beside_a_large_word_the_number_is_large_and_has_no_sign(columns, rows, least):
    """Thin letters can't be read from afar: a short word is as broad as there is room."""
    lines = bare(on_screen(BOTH, columns, rows)).splitlines()
    for text in ("1.6", "LESS", "1.4", "MORE"):
        assert max(dots_of(text, lines))[0] >= least
    assert not any(dots_of(f"{sign}1.6", lines) + dots_of(f"{sign}1.4", lines) for sign in "+-")


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (120, 40)])
def test_every_word_is_as_high_as_any_other(columns, rows):
    """Nothing jumps as the verdict changes."""
    for words in (("MORE", "WITHIN", "LESS"), ("LOW", "MATCHED", "HIGH")):
        screens = [bare(on_screen(state(gap(word=word), gap("right", word)), columns, rows)) for word in words]
        heights = {max(dots_of(word, screen.splitlines()))[1] for word, screen in zip(words, screens, strict=True)}
        places = {[line.count("to go") for line in screen.splitlines()].index(2) for screen in screens}
        details = {next(i for i, line in enumerate(screen.splitlines()) if "target" in line) for screen in screens}
        assert (len(heights), len(places), len(details)) == (1, 1, 1)


def test_colours_are_blue_and_orange_alone():
    assert {BLUE, ORANGE} == {"#0072B2", "#D55E00"}  # Okabe and Ito, Color Universal Design, 2008
    used = set(re.findall(r"38;2;(\d+);(\d+);(\d+)", on_screen(BOTH)))
    assert used == {("0", "114", "178"), ("213", "94", "0"), ("118", "118", "118")}  # and grey


def seen(colour: str, system: ColorSystem) -> str:
    """Return what a terminal of so many colours makes of a colour."""
    return Color.parse(colour).downgrade(system).get_truecolor().hex


@pytest.mark.parametrize("system", [ColorSystem.TRUECOLOR, ColorSystem.EIGHT_BIT])
@pytest.mark.parametrize("ground", ["#000000", "#ffffff"])
def test_colours_stand_out_on_dark_and_on_light(system, ground):
    for colour in (BLUE, ORANGE):
        assert contrast(seen(colour, system), ground) >= 3  # WCAG 2.1, 1.4.3, level AA: large text
    assert contrast(seen(QUIET, system), ground) >= 4.5  # any text
    _, ink, _, paper = ALARM.split()
    assert contrast(seen(ink, system), seen(paper, system)) >= 4.5  # any text


@pytest.mark.parametrize("shown", [BOTH, PUSHED, LOST], ids=["off", "pushed", "lost"])
def test_there_are_three_sizes_of_type(shown):
    """In colour the number and its word; bold what to do, what was told last and what is wrong; grey all else."""
    for text, named in (part for row in layout(shown, console().size, keys=True) for part in row):
        style = Style.parse(named)
        if text.strip() and style.bgcolor is None:
            assert not style.dim
            assert style.bold or named == QUIET
            assert style.color is None or named == QUIET or set(text) <= {"█", " "}


@pytest.mark.parametrize(("system", "coloured"), [("truecolor", True), ("256", True), ("standard", False)])
def test_of_sixteen_colours_none_is_used(system, coloured):
    """They are what the user made of them: no contrast is sure."""
    terminal = console(color_system=system)
    with LiveScreen(terminal, keys=True) as screen:
        screen.show(BOTH)
    assert bool(re.search(r"\x1b\[[\d;]*\b3[0-8]\b", terminal.file.getvalue())) == coloured


def test_a_screen_is_drawn_over_the_one_before_without_a_flicker():
    """No screen and no line is cleared between two states; what changed is drawn as broad as the screen, no more."""
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
    assert not any(BOTH.ask in row for row in rows)


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


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (120, 40), (60, 20), (45, 24)])
def test_an_address_stands_whole_above_the_numbers(columns, rows):
    lines = bare(on_screen(BOTH, columns, rows, code=f"Open on this computer: {URL}")).splitlines()
    assert len(lines) == rows
    assert lines[-1].split()[-1] == KEYS_TEXT.split()[-1]
    assert URL in "".join(line.strip() for line in lines)
    assert any("█" in line for line in lines)


@pytest.mark.parametrize(("columns", "rows", "numbers"), [(80, 24, False), (60, 20, False), (120, 40, True)])
def test_a_code_leaves_the_numbers_where_there_is_room(columns, rows, numbers):
    drawn = code(URL).splitlines()
    lines = bare(on_screen(BOTH, columns, rows, code="\n".join(drawn))).splitlines()
    assert len(lines) == rows
    assert lines[1 : 1 + len(drawn)] == [line.rstrip() for line in drawn]
    assert ("LEFT, mm to go" in "".join(lines)) == numbers
    assert lines[-1].split()[-1] == KEYS_TEXT.split()[-1]
