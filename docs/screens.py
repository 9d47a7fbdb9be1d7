"""Run the commands that the pages show, before a virtual bench, and put what they print into the pages: `make docs`.

A page says in a comment what is typed, and the block below it is what the terminal then holds:

    <!-- screen
    {"do": "tape", "sensor": "left", "surface": "flap left"}        typed in the bench's terminal before
    hingeline throws lantern.rig.toml flap --port $PORT             typed in the other
    up (normal), all the way => {"do": "stick", "position": "flap up"}    typed once that is asked for
    -->

A line for the bench is a deed. `look` in its place keeps what the large screen shows then. `paste FILE` does the lines
of a file one by one, each when the prompt is there, in which `#` is the line's number. `only N` shows the first and the
last N lines. Pages and their comments are run in their order on one bench, as one evening.

A comment `shape` has a command with `--json`; below it goes the form of what that prints. `RUN` stands for the latest
run of that command on that surface.
"""

from __future__ import annotations

import json
import os
import pty
import re
import shlex
import shutil
import struct
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ
from typing import Any

from hingeline_virtual.client import VirtualBench

DOCS = Path(__file__).parent
EVENING = DOCS / "evening"
PAGES = (
    "how-to/virtual-bench.md",
    "how-to/calibrate.md",
    "how-to/datum.md",
    "how-to/neutral.md",
    "how-to/linkage.md",
    "how-to/throws.md",
    "how-to/modes.md",
    "how-to/elevons-v-tails.md",
    "how-to/dihedral-fins.md",
    "how-to/hinge.md",
    "how-to/direction.md",
    "how-to/sweep.md",
    "how-to/play.md",
    "how-to/centring.md",
    "how-to/droop.md",
    "how-to/report-compare.md",
    "json.md",
)
"""In the order in which the evening goes through them."""
ROWS, COLUMNS = 24, 80
COMMENT = re.compile(r"<!-- (screen|shape)\n(.*?)-->\n(```(?:console|text)\n.*?```\n)?", re.DOTALL)
_ESCAPE = re.compile(r"\x1b(\[[0-?]*[ -/]*[@-~]|\][^\x07]*\x07|[@-Z\\-_=>])")
_START = r"\x1b\[(\d+);1H"
_ROW = re.compile(f"{_START}(.*?)(?={_START}|$)", re.DOTALL)
"""A row of the large screen: its number, and what is drawn there."""
_LARGE = re.compile(r"\x1b\[\?1049h.*?\x1b\[\?1049l", re.DOTALL)
_CLOCK = re.compile(r"^sensor \S+ (?:live|moving|still).*?taken\n", re.DOTALL | re.MULTILINE)
"""The state of the sensors, printed every few seconds."""
_BENCH = re.compile(r"/tmp/hingeline-\w+/|\S*/hingeline-\w+/(?=bench)")


@dataclass(frozen=True)
class Screen:
    """What is typed: deeds before a command, the command, and deeds after its prompts."""

    before: tuple[str, ...]
    command: str
    asked: tuple[tuple[str, str], ...]
    only: int | None

    @classmethod
    def read(cls, text: str) -> Screen:
        """Read a comment."""
        before, asked, command, only = [], [], "", None
        for line in text.splitlines():
            prompt, arrow, deed = line.rpartition("=> ")
            if arrow:
                asked.append((prompt.strip(), deed))
            elif line.startswith("{"):
                before.append(line)
            elif line.startswith("only "):
                only = int(line.removeprefix("only "))
            else:
                command = line
        return cls(tuple(before), command, tuple(asked), only)


@dataclass
class Evening:
    """A bench, a folder with the sheets, and a home of its own for what is kept."""

    bench: VirtualBench
    folder: Path
    port: str = field(init=False)

    def __post_init__(self) -> None:
        (self.port,) = self.bench.ports.values()

    @property
    def environment(self) -> Mapping[str, str]:
        """Environment variables of the commands."""
        own = {"HINGELINE_HOME": "kept", "PORT": self.port, "TERM": "xterm-256color"}
        return {**os.environ, **own, "PATH": f"{Path(sys.executable).parent}:{os.environ['PATH']}"}

    def block(self, screen: Screen) -> str:
        """Type it, and give the block that belongs below it."""
        typed = [self.begin(deed) for deed in screen.before]
        if typed:
            self.bench.do("truth")  # its answer comes when all before it has settled
        shown = self._run(screen) if screen.command else []
        if screen.only is not None and len(shown) > 2 * screen.only:
            left_out = len(shown) - 2 * screen.only
            shown[screen.only : -screen.only] = [f"  ... {left_out} lines ..."]
        command = [f"$ {screen.command}"] if screen.command else []
        return "\n".join(["```console", *typed, *command, *shown, "```"]) + "\n"

    def begin(self, deed: str) -> str:
        """Have the bench begin a deed, and give the line as it was typed."""
        self.bench.begin(**json.loads(deed))
        return f"bench> {deed}"

    def _paste(self, terminal: Terminal, prompt: str, name: str) -> str:
        lines = (self.folder / name).read_text(encoding="utf-8").splitlines()
        for number, line in enumerate(lines, 1):
            terminal.wait_for(prompt.replace("#", str(number)))
            self.begin(line)
        return f"bench> (all lines of {name})"

    def _run(self, screen: Screen) -> list[str]:
        terminal = Terminal(screen.command, self.folder, self.environment)
        looks: list[str] = []
        deeds: list[tuple[str, str]] = []
        asked_for = ""
        for prompt, deed in screen.asked:
            if deed.startswith("paste "):
                typed = self._paste(terminal, prompt, deed.removeprefix("paste "))
                deeds.append((prompt.replace("#", "1"), typed))
                continue
            if prompt != asked_for:
                terminal.wait_for(prompt)
            asked_for = prompt
            if deed == "look":
                looks += terminal.frame()
            else:
                deeds.append((prompt, self.begin(deed)))
        lines = looks + list(_with_deeds(terminal.end(), deeds))
        return [*lines, *(["$ echo $?", str(terminal.status)] if terminal.status else [])]

    def shape(self, command: str) -> str:
        """Give the block with the form of what a command prints."""
        if "RUN" in command:
            sessions = self._data("hingeline sessions --json")["sessions"]
            words = command.split()
            runs = [
                run
                for session in sessions
                for run in session["runs"]
                if run["command"] == words[1] and run["surface"] in ("", *words)
            ]
            latest = max(runs, key=lambda run: run["started"])
            command = command.replace("RUN", shlex.quote(latest["file"]))
        return "\n".join(["```text", *_shape(self._data(command)), "```"]) + "\n"

    def _data(self, command: str) -> dict[str, Any]:
        done = subprocess.run(
            ["sh", "-c", command], cwd=self.folder, env=self.environment, capture_output=True, check=False
        )
        data: dict[str, Any] = json.loads(done.stdout.splitlines()[0])
        return data


class Terminal:
    """A command at a terminal of 24 rows and 80 columns."""

    def __init__(self, command: str, folder: Path, environment: Mapping[str, str]) -> None:
        self._near, far = pty.openpty()
        ioctl(far, TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
        self._process = subprocess.Popen(
            ["sh", "-c", command], stdin=far, stdout=far, stderr=far, cwd=folder, env=environment
        )
        os.close(far)
        self._output, self._matched = "", 0
        self.status = 0

    def wait_for(self, prompt: str) -> None:
        """Wait until it has shown these words since those that were waited for before."""
        words = re.compile(r"\s+".join(map(re.escape, prompt.split())))
        while not words.search(_plain(self._output[self._matched :])):
            if not self._read():
                raise SystemExit("\n".join([f"It never showed {prompt!r}:", *_lines_left(self._output)]))
        self._matched = len(self._output)

    def press(self, key: str) -> None:
        """Press a key."""
        os.write(self._near, key.encode())

    def coloured_rows(self) -> list[str]:
        """The rows of the large screen as they are now, with their colours."""
        rows = self._rows(self._output)
        return [rows.get(number, "") for number in range(1, ROWS + 1)]

    def frame(self) -> list[str]:
        """Wait until the whole large screen was drawn anew, with a number; give its rows as plain text."""
        while True:
            rows = {number: _plain(text).rstrip() for number, text in self._rows(self._output[self._matched :]).items()}
            if len(rows) == ROWS and any("█" in row for row in rows.values()):
                return [rows[number] for number in range(1, ROWS + 1)]
            self._read()

    @staticmethod
    def _rows(output: str) -> dict[int, str]:
        *drawn, _ = _ROW.findall(output) or [()]  # the last may not be whole
        return {int(number): text for number, text, _ in drawn}

    def end(self) -> list[str]:
        """Wait until the command has ended; give the lines that are left on the terminal."""
        while self._read():
            pass
        self.status = self._process.wait()
        os.close(self._near)
        return _lines_left(self._output)

    def _read(self) -> bool:
        try:
            received = os.read(self._near, 65536)
        except OSError:  # at the end of a terminal Linux fails
            return False
        self._output += received.decode(errors="replace").replace("\r\n", "\n")
        return bool(received)


def _plain(text: str) -> str:
    return _ESCAPE.sub("", re.sub(_START, "\n", text)).replace("\a", "")


def _lines_left(output: str) -> list[str]:
    """The lines that are left on the terminal, without those printed by the clock."""
    lines = (_plain(line.split("\r\x1b[K")[-1]).rstrip() for line in _LARGE.sub("", output).split("\n"))
    return _CLOCK.sub("", "\n".join(lines)).removesuffix("\n").split("\n")


def _with_deeds(lines: list[str], deeds: list[tuple[str, str]]) -> Iterator[str]:
    """Yield lines with each deed below its prompt, which may run over several lines."""
    waiting, text = list(deeds), ""
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        yield line
        text = f"{text} {line.strip()}"
        while waiting and " ".join(waiting[0][0].split()) in text and not following.startswith("  "):
            prompt, text = waiting[0][0], ""
            while waiting and waiting[0][0] == prompt:
                yield waiting.pop(0)[1]
    yield from (deed for _, deed in waiting)


def _shape(value: object, key: str = "", depth: int = 0) -> Iterator[str]:
    """Yield the form of a value of JSON: keys, and what kind of value each has."""
    named = "  " * depth + (f"{key}: " if key else "")
    if isinstance(value, dict):
        yield f"{named}object"
        for inner, field_value in sorted(value.items()):
            yield from _shape(field_value, inner, depth + 1)
    elif isinstance(value, list) and value and isinstance(value[0], dict | list):
        yield f"{named}list, each"
        yield from max((list(_shape(each, depth=depth + 1)) for each in value), key=lambda lines: len("".join(lines)))
    else:
        yield named + (f"list of {_kind(value[0])}" if isinstance(value, list) and value else _kind(value))


def _kind(value: object) -> str:
    return {bool: "true or false", str: "text", type(None): "null", list: "list"}.get(type(value), "number")


@contextmanager
def open_evening() -> Iterator[Evening]:
    """Run the bench of the first evening, with a folder that holds its sheets, while the context lasts."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "evening"
        shutil.copytree(EVENING, folder)
        with VirtualBench(folder / "glider.toml") as bench:
            yield Evening(bench, folder)


def write_page(evening: Evening, name: str) -> str:
    """Do what the comments of a page say, and give its text with new blocks below them."""
    text = (DOCS / name).read_text(encoding="utf-8")
    return COMMENT.sub(lambda comment: _with_block(evening, comment), text)


def pages() -> Iterator[tuple[Path, str]]:
    """Yield each page with its text as it is now to be."""
    with open_evening() as evening:
        for name in PAGES:
            yield DOCS / name, write_page(evening, name)


def _with_block(evening: Evening, comment: re.Match[str]) -> str:
    kind, typed = comment[1], comment[2]
    block = evening.block(Screen.read(typed)) if kind == "screen" else evening.shape(typed.strip())
    return f"<!-- {kind}\n{typed}-->\n{_BENCH.sub('/tmp/hingeline-x/', block)}"


if __name__ == "__main__":
    for page, new_text in pages():
        page.write_text(new_text, encoding="utf-8")
        print(page.relative_to(DOCS), file=sys.stderr)
