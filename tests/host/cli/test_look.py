"""The large screen of every check in a real terminal, tmux, of four sizes. `make look` runs these."""

import io
import re
import sys

import pytest
from rich.console import Console
from rich.text import Text
from tests.host.live.tmux import Tmux
from tests.host.look import LOOK, chromium

from hingeline.procedures.keys import KEYS_TEXT

pytestmark = pytest.mark.browser

SIZES = ((80, 24), (100, 30), (60, 20), (120, 40))
CHECKS = ("neutral", "throws", "direction", "sweep", "play", "centring", "droop", "hinge")
ABOVE = "from neutral"
"""What stands above the number of each before anything is judged."""


def picture(screen: str, columns: int, rows: int) -> str:
    """Return a captured screen as an SVG."""
    console = Console(record=True, width=columns, height=rows, file=io.StringIO(), force_terminal=True)
    console.print(Text.from_ansi(screen), no_wrap=True)
    return console.export_svg(title=f"{columns} by {rows}", unique_id=f"of{columns}")


def look(name: str, pictures: list[str]) -> None:
    """Put pictures beside each other into a file."""
    page = LOOK / f"terminal-{name}.html"
    grid = "display: grid; grid-template-columns: 800px 800px; gap: 8px"
    page.write_text(f'<body style="{grid}">{"".join(f"<div>{one}</div>" for one in pictures)}</body>')
    chromium("--window-size=1640,1220", f"--screenshot={page.with_suffix('.png')}", page.as_uri())
    page.unlink()


@pytest.mark.parametrize("check", CHECKS)
def test_every_check_fits_every_terminal(person, sheet, check, tmp_path):
    person.tape("flap")
    command = [sys.executable, "-m", "hingeline", check, sheet, "flap", "--quiet"]
    ports = [word for port in person.bench.ports.values() for word in ("--port", port)]
    environment = {"HINGELINE_HOME": str(person.home), "COLORTERM": "truecolor"}
    screens = []
    with Tmux(tmp_path, [*command, *ports], SIZES[0], environment) as terminal:
        for size in SIZES:
            terminal.resize(*size)
            screens.append(terminal.until(ABOVE))
    conditions: list[int] = []
    for screen in screens:
        text = " ".join(Text.from_ansi(screen).plain.split())
        assert text.startswith("flap")
        assert text.endswith(KEYS_TEXT)
        conditions.append(len(re.findall(r"sensor (live|moving), \d\d\.\d °C", text)))
        assert "█" in text
        assert "…" not in text
        assert "Q stop" in Text.from_ansi(screen).plain, "a key stands with its word"
    of_all = 1 if check == "play" else 2
    assert set(conditions) <= {0, of_all}, "where the rows do not do, what was told goes first"
    assert conditions[-1] == of_all
    pictures = [picture(screen, *size) for screen, size in zip(screens, SIZES, strict=True)]
    (LOOK / f"terminal-{check}.svg").write_text(pictures[0])
    look(check, pictures)


def test_a_throw_that_is_held_fits_every_terminal(person, sheet, tmp_path):
    """What it lacks, its verdict and what to turn, while the end point is turned."""
    person.tape("flap")
    (port,) = person.bench.ports.values()
    command = [sys.executable, "-m", "hingeline", "throws", sheet, "flap", "--quiet", "--port", port]
    environment = {"HINGELINE_HOME": str(person.home), "COLORTERM": "truecolor"}
    screens = []
    with Tmux(tmp_path, command, SIZES[0], environment) as terminal:
        (up, raise_it), *_ = person.throws("flap")
        terminal.until(up)
        raise_it()
        for size in SIZES:
            terminal.resize(*size)
            screens.append(terminal.until(r"to go.*Q stop"))
    for screen in screens:
        text = " ".join(Text.from_ansi(screen).plain.split())
        assert text.startswith("flap")
        assert text.endswith(KEYS_TEXT)
        assert "█" in text
        assert "…" not in text
        for verdict in ("left LESS", "right MORE"):
            assert re.search(rf"{verdict} 0\.\d+°: set the end point from 100 % to \d+ %", text), "read at once, held"
    look("held", [picture(screen, *size) for screen, size in zip(screens, SIZES, strict=True)])


def test_the_last_reading_stays_until_a_key_tells_of_the_next_surface(person, sheet, tmp_path):
    """A wiggle tells nothing while a key is waited for, and the screen says so."""
    person.tape("flap")
    (port,) = person.bench.ports.values()
    command = [sys.executable, "-m", "hingeline", "throws", sheet, "--quiet", "--port", port]
    environment = {"HINGELINE_HOME": str(person.home), "COLORTERM": "truecolor"}
    screens = []
    with Tmux(tmp_path, command, (100, 40), environment) as terminal:
        terminal.until("Tape the sensors on the flap, then press Space; nothing is measured before")
        terminal.press("Space")
        for asked, deed in person.throws("flap"):
            terminal.until(asked)
            deed()
        terminal.until("Tape the sensors on the elevator")
        for size in SIZES:
            terminal.resize(*size)
            screens.append(terminal.until("Tape the sensors.*Q stop"))
    for screen in screens:
        text = " ".join(Text.from_ansi(screen).plain.split())
        assert text.startswith("Tape the sensors on the elevator, then press Space; nothing is measured before")
        assert text.endswith(KEYS_TEXT)
        assert re.search(r"flap, neutral \(normal\) left MATCHED right MATCHED", text)
        assert "…" not in text
    pictures = [picture(screen, *size) for screen, size in zip(screens, SIZES, strict=True)]
    look("between", pictures)


def test_the_page_s_address_fits_a_terminal(person, sheet, tmp_path):
    person.tape("flap")
    command = [
        sys.executable,
        "-m",
        "hingeline",
        "throws",
        sheet,
        "flap",
        "--quiet",
        "--page-on",
        "127.0.0.2",
    ]
    environment = {"HINGELINE_HOME": str(person.home), "COLORTERM": "truecolor"}
    (port,) = person.bench.ports.values()
    with Tmux(tmp_path, [*command, "--port", port], (80, 24), environment) as terminal:
        screen = terminal.until("all the way.*Q stop")
    drawn = [line for line in Text.from_ansi(screen).plain.splitlines() if set(line) & set("█▀▄")]
    assert len(drawn) >= 17  # a code of version 5 with its quiet zone, two modules a row
    look("code", [picture(screen, 80, 24)])
