"""A command in a real terminal emulator, tmux, of any size; what it shows is captured with its colours."""

from __future__ import annotations

import os
import re
import select
import shlex
import subprocess
from collections.abc import Mapping
from pathlib import Path
from time import monotonic

PATIENCE_S = 120.0
"""What was not shown for so long never comes."""
_CORNER = b"\x1b[1;1H"
"""With it each state begins of which all rows are drawn."""


class Tmux:
    """A command in a terminal of its own, while its `with` lasts.

    Parameters
    ----------
    folder
        Where the server's socket and the copy of the terminal's output are.
    arguments
        The command.
    size
        Columns and rows.
    environment
        What it finds beside ours.
    """

    def __init__(
        self, folder: Path, arguments: list[str], size: tuple[int, int], environment: Mapping[str, str]
    ) -> None:
        self._tmux, pipe = ("tmux", "-S", str(folder / "tmux")), folder / "output"
        os.mkfifo(pipe)
        columns, rows = map(str, size)
        given = [f"{name}={value}" for name, value in environment.items()]
        command = shlex.join(["env", "-u", "COLUMNS", "-u", "LINES", *given, *arguments])
        start = ["new-session", "-d", "-x", columns, "-y", rows, f"read begin; exec {command}"]
        self._do("-f", os.devnull, *start, ";", "set", "-g", "window-size", "manual")
        self._do("resize-window", "-x", columns, "-y", rows)
        self._do("pipe-pane", f"cat > {shlex.quote(str(pipe))}")
        self._output = os.open(pipe, os.O_RDONLY)
        self.press("Enter")

    def __enter__(self) -> Tmux:
        return self

    def __exit__(self, *exception: object) -> None:
        os.close(self._output)
        end = [*self._tmux, "kill-server"]
        subprocess.run(end, capture_output=True, check=False)  # it may have ended with the command

    def until(self, pattern: str) -> str:
        """Wait until the terminal shows something; return the screen, with its colours."""
        deadline_s = monotonic() + PATIENCE_S
        while not re.search(pattern, _bare(screen := self._do("capture-pane", "-p", "-e")), re.DOTALL):
            goes_on = os.read(self._output, 65536) and monotonic() < deadline_s
            assert goes_on, f"never showed {pattern}:\n{_bare(screen)}"
        return screen

    def resize(self, columns: int, rows: int) -> None:
        """Give the terminal another size, and wait until the screen was drawn anew."""
        while select.select([self._output], [], [], 0)[0]:
            os.read(self._output, 65536)
        self._do("resize-window", "-x", str(columns), "-y", str(rows))
        drawn = b""
        while drawn.count(_CORNER) < 3:  # the first may be of the old size; as the third begins, the second is whole
            drawn += (some := os.read(self._output, 65536))
            assert some, "the command has ended"

    def press(self, key: str) -> None:
        """Press a key."""
        self._do("send-keys", key)

    def _do(self, *arguments: str) -> str:
        done = subprocess.run([*self._tmux, *arguments], capture_output=True, text=True, check=False)
        assert done.returncode == 0, f"the command has ended: {done.stderr}"
        return done.stdout


def _bare(screen: str) -> str:
    """Return a screen without its colours."""
    return re.sub(r"\x1b\[[\d;]*m", "", screen)
