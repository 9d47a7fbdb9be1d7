"""Run the commands that the pages show, before a virtual bench, and put what they print into the pages: `make docs`.

A page says in a comment what is typed, and the block below it is what the terminal then holds:

    <!-- screen
    {"do": "tape", "sensor": "left", "surface": "flap left"}        typed in the bench's terminal before
    hingeline throws lantern.rig.toml flap --port $PORT             typed in the other
    up (normal), all the way => {"do": "stick", "position": "flap up"}    typed once that is asked for
    -->

`look` in place of a deed keeps what the large screen shows then; `paste FILE` pastes a file, whose lines are done one
by one, each when what is asked for, `#` its number, is there; `only N` shows the first and the last N lines. Pages and
their comments are run in their order on one bench, as one evening.

A comment `shape` has a command with `--json`, and below it goes the form of what that prints. `RUN` stands for the
latest run of that command.
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
from dataclasses import dataclass, field
from fcntl import ioctl
from pathlib import Path
from termios import TIOCSWINSZ
from typing import Any

from hingeline_virtual.client import VirtualBench

DOCS = Path(__file__).parent
EVENING = DOCS / "evening"
PAGES = (
    "first-evening.md",
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
ASKED_WITHIN_S = 60.0
COMMENT = re.compile(r"<!-- (screen|shape)\n(.*?)-->\n(```(?:console|text)\n.*?```\n)?", re.DOTALL)
_ESCAPE = re.compile(r"\x1b(\[[0-?]*[ -/]*[@-~]|\][^\x07]*\x07|[@-Z\\-_=>])")
_START = r"\x1b\[(\d+);1H"
_ROW = re.compile(f"{_START}(.*?)(?={_START}|$)", re.DOTALL)
"""Of the large screen: which it is, and what is drawn there."""
_LARGE = re.compile(r"\x1b\[\?1049h.*?\x1b\[\?1049l", re.DOTALL)
_CLOCK = re.compile(r"^sensor \S+ (?:live|moving|still).*?taken\n", re.DOTALL | re.MULTILINE)
"""How the sensors stand, told every few seconds."""
_BENCH = re.compile(r"/tmp/hingeline-\w+/|\S*/hingeline-\w+/(?=bench)")


@dataclass(frozen=True)
class Screen:
    """What is typed: deeds before a command, the command, and deeds once it has asked for them."""

    before: tuple[str, ...]
    command: str
    asked: tuple[tuple[str, str], ...]
    only: int | None

    @classmethod
    def read(cls, text: str) -> Screen:
        """Return what a comment says."""
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
        """What the commands find."""
        own = {"HINGELINE_HOME": "kept", "PORT": self.port, "TERM": "xterm-256color"}
        return {**os.environ, **own, "PATH": f"{Path(sys.executable).parent}:{os.environ['PATH']}"}

    def block(self, screen: Screen) -> str:
        """Type it, and return the block."""
        typed = [self._bench(deed) for deed in screen.before]
        if typed:
            self.bench.do("truth")  # its answer comes when all before it has settled
        shown = self._run(screen) if screen.command else []
        if screen.only is not None and len(shown) > 2 * screen.only:
            left_out = len(shown) - 2 * screen.only
            shown[screen.only : -screen.only] = [f"  ... {left_out} lines ..."]
        command = [f"$ {screen.command}"] if screen.command else []
        return "\n".join(["```console", *typed, *command, *shown, "```"]) + "\n"

    def _bench(self, deed: str) -> str:
        self.bench.begin(**json.loads(deed))
        return f"bench> {deed}"

    def _paste(self, terminal: Terminal, prompt: str, name: str) -> str:
        lines = (self.folder / name).read_text(encoding="utf-8").splitlines()
        for number, line in enumerate(lines, 1):
            terminal.until(prompt.replace("#", str(number)))
            self._bench(line)
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
                terminal.until(prompt)
            asked_for = prompt
            if deed == "look":
                looks += terminal.frame()
            else:
                deeds.append((prompt, self._bench(deed)))
        lines = looks + list(_with_deeds(terminal.end(), deeds))
        return [*lines, *(["$ echo $?", str(terminal.status)] if terminal.status else [])]

    def shape(self, command: str) -> str:
        """Return the block with the form of what a command prints."""
        if "RUN" in command:
            sessions = self._data("hingeline sessions --json")["sessions"]
            runs = [
                run for session in sessions for run in session["runs"] if run["command"] == command.split()[1]
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
        self._told, self._heeded = "", 0
        self.status = 0

    def until(self, prompt: str) -> None:
        """Wait until it has shown these words since it last did what it was waited for."""
        words = re.compile(r"\s+".join(map(re.escape, prompt.split())))
        while not words.search(_plain(self._told[self._heeded :])):
            if not self._read():
                raise SystemExit("\n".join([f"It never asked for {prompt!r}:", *_stays(self._told)]))
        self._heeded = len(self._told)

    def frame(self) -> list[str]:
        """Return what the large screen shows once all of it was drawn anew, with a number."""
        while True:
            *drawn, _ = _ROW.findall(self._told[self._heeded :]) or [()]  # the last may not be whole
            rows = {int(number): _plain(text).rstrip() for number, text, _ in drawn}
            if len(rows) == ROWS and any("█" in row for row in rows.values()):
                return [rows[number] for number in range(1, ROWS + 1)]
            self._read()

    def end(self) -> list[str]:
        """Wait until the command has ended; return the lines that stay on the terminal."""
        while self._read():
            pass
        self.status = self._process.wait()
        os.close(self._near)
        return _stays(self._told)

    def _read(self) -> bool:
        try:
            some = os.read(self._near, 65536)
        except OSError:  # Linux tells the end of a terminal so
            return False
        self._told += some.decode(errors="replace").replace("\r\n", "\n")
        return bool(some)


def _plain(text: str) -> str:
    return _ESCAPE.sub("", re.sub(_START, "\n", text)).replace("\a", "")


def _stays(told: str) -> list[str]:
    """Return the lines that stay, without those that come by the clock."""
    lines = (_plain(line.split("\r\x1b[K")[-1]).rstrip() for line in _LARGE.sub("", told).split("\n"))
    return _CLOCK.sub("", "\n".join(lines)).removesuffix("\n").split("\n")


def _with_deeds(lines: list[str], deeds: list[tuple[str, str]]) -> Iterator[str]:
    """Yield lines with each deed below what asked for it; a question may run over several lines."""
    waiting, seen = list(deeds), ""
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        yield line
        seen = f"{seen} {line.strip()}"
        while waiting and " ".join(waiting[0][0].split()) in seen and not following.startswith("  "):
            prompt, seen = waiting[0][0], ""
            while waiting and waiting[0][0] == prompt:
                yield waiting.pop(0)[1]
    yield from (deed for _, deed in waiting)


def _shape(value: object, key: str = "", depth: int = 0) -> Iterator[str]:
    """Yield the form of a value of JSON: keys, and what kind of value each has."""
    named = "  " * depth + (f"{key}: " if key else "")
    if isinstance(value, dict):
        yield f"{named}object"
        for inner, one in sorted(value.items()):
            yield from _shape(one, inner, depth + 1)
    elif isinstance(value, list) and value and isinstance(value[0], dict | list):
        yield f"{named}list, each"
        yield from _shape(value[0], depth=depth + 1)
    else:
        yield named + (f"list of {_kind(value[0])}" if isinstance(value, list) and value else _kind(value))


def _kind(value: object) -> str:
    return {bool: "true or false", str: "text", type(None): "null", list: "list"}.get(type(value), "number")


def pages() -> Iterator[tuple[Path, str]]:
    """Yield each page with its text as it is now to be."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "evening"
        shutil.copytree(EVENING, folder)
        with VirtualBench(folder / "glider.toml") as bench:
            evening = Evening(bench, folder)
            for name in PAGES:
                text = (DOCS / name).read_text(encoding="utf-8")
                yield DOCS / name, COMMENT.sub(lambda found: _shown(evening, found), text)


def _shown(evening: Evening, found: re.Match[str]) -> str:
    kind, typed = found[1], found[2]
    block = evening.block(Screen.read(typed)) if kind == "screen" else evening.shape(typed.strip())
    return f"<!-- {kind}\n{typed}-->\n{_BENCH.sub('/tmp/hingeline-x/', block)}"


if __name__ == "__main__":
    for page, text in pages():
        page.write_text(text, encoding="utf-8")
        print(page.relative_to(DOCS), file=sys.stderr)
