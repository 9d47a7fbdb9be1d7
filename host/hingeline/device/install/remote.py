"""A board's file system through mpremote, which interrupts the program on the board and leaves its prompt."""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path, PurePosixPath
from threading import Timer
from typing import Any

RUN_S = 120.0
COPY_S = 600.0
"""Far more than any board takes; an emulated board is twenty times slower than a real one."""
MAKE_FOLDERS = """import os
for folder in {folders}:
    try:
        os.stat(folder)
    except OSError:
        os.mkdir(folder)
"""
_WORDS_SHOWN = 200


class RemoteFailure(Exception):
    """mpremote did not come to its end; the text is its last line."""


class Remote:
    """The board at a port, which nobody else may have open.

    mpremote always joins without restarting the board (`resume`): a restart would gain nothing, and is the end
    of a MicroPython that runs as a program.
    """

    def __init__(self, port: str) -> None:
        self.port = port

    def execute(self, code: str) -> str:
        """Run a program on the board, for its output. Raises `RemoteFailure`."""
        return self._mpremote("exec", code, limit_s=RUN_S)

    def put(self, contents: Mapping[str, bytes], on_file: Callable[[str], None]) -> None:
        """Write files by their path on the board, each announced to `on_file`. Raises `RemoteFailure`."""

        def on_line(line: str) -> None:
            verb, _, place = line.strip().partition(" :")
            if verb.startswith("cp ") and place in contents:
                on_file(place)

        folders = sorted({str(parent) for path in contents for parent in PurePosixPath(path).parents} - {"."})
        self.execute(MAKE_FOLDERS.format(folders=folders))
        with tempfile.TemporaryDirectory() as folder:
            commands: list[str] = []
            for number, (path, content) in enumerate(contents.items()):
                staged = Path(folder) / str(number)
                staged.write_bytes(content)
                commands += ["+", "fs", "cp", str(staged), f":{path}"]
            self._mpremote(*commands[1:], limit_s=COPY_S, on_line=on_line)

    def _mpremote(
        self, *command: str, limit_s: float, on_line: Callable[[str], None] = lambda line: None
    ) -> str:
        """Run mpremote, for its output; `on_line` gets each line as it comes."""
        line = [sys.executable, "-u", "-m", "mpremote", "connect", self.port, "resume", *command]
        pipes: Any = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.STDOUT}
        output = ""
        with subprocess.Popen(line, encoding="utf-8", errors="replace", **pipes) as running:
            late = Timer(limit_s, running.kill)
            late.start()
            try:
                for text in running.stdout or ():
                    output += text
                    on_line(text)
            finally:
                timely = late.is_alive()
                late.cancel()
        if not timely:
            raise RemoteFailure(f"no end after {limit_s:.0f} s")
        if running.returncode != 0:
            raise RemoteFailure(output.strip().rpartition("\n")[2][-_WORDS_SHOWN:])
        return output
