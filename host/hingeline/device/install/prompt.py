"""The prompt of the MicroPython at a port: asked whether it is there, left again, and used through mpremote."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from contextlib import closing, suppress
from pathlib import Path, PurePosixPath
from threading import Timer
from time import perf_counter, sleep
from typing import Any

from hingeline.device.link.channels import Channel
from hingeline.device.link.conversation import PULSE
from hingeline.device.link.ports import open_port
from hingeline.errors import NoBoard, PortForbidden
from hingeline_protocol.messages import Ok, Status, pack

START_S = 180.0
"""A board compiles its files at each start: in seconds on a real one, an emulated one takes a minute."""
PROMPT_S = 6.0
"""Opening a port restarts some boards: then it takes a second or two until a prompt can answer."""
_TRY_S = 1.0
_LOOK_S = 0.2
_TO_RAW_PROMPT = b"\r\x03\x03\r\x01"
"""Ctrl-C stops a program, twice for one that catches the first; Ctrl-A asks for the raw prompt, which names itself."""
_TO_PROMPT = b"\r\x02"
_NAMES_ITSELF = b"raw REPL; CTRL-B to exit\r\n"
_TO_RESTART = b"\r\x03\x02\r\x04"
"""Ctrl-B leaves a raw prompt; Ctrl-D at the other starts anew and runs `main.py`."""
_REQUEST = pack(Status(PULSE)).rstrip()
_STARTED = (pack(Ok(0)).rstrip(), pack(Ok(PULSE)).rstrip(), _REQUEST)
"""The program has introduced itself, or answers the request; a prompt only echoes it."""
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
ANSWER = "hingeline "
_WORDS_SHOWN = 200


def has_micropython(port: str) -> tuple[bool, bytes]:
    """Stop the program of a board, and ask for MicroPython's prompt: whether it answers, and all bytes received.

    Raises `NoBoard`, `PortBusy`, `PortForbidden`, `UsageProblem` (the port can't be had).
    """
    deadline_s = perf_counter() + PROMPT_S
    answers, received = _ask(open_port(port), deadline_s)
    while not answers and perf_counter() < deadline_s:
        sleep(_LOOK_S)
        with suppress(NoBoard, PortForbidden):  # Ctrl-C restarted it: not back yet, or not yet everybody's
            answers, received = _ask(open_port(port), deadline_s)
    return answers, received


def _ask(channel: Channel, deadline_s: float) -> tuple[bool, bytes]:
    """Ask for the prompt until it answers, the port goes away, or time is over."""
    received = b""
    with closing(channel), suppress(OSError):
        while _NAMES_ITSELF not in received and perf_counter() < deadline_s:
            channel.write(_TO_RAW_PROMPT)
            received += _listen(channel, perf_counter() + _TRY_S, _NAMES_ITSELF)
        channel.write(_TO_PROMPT)
        return _NAMES_ITSELF in received, received
    return False, received  # takes no bytes, was pulled, or restarts because its watchdog was armed


def leave(port: str) -> None:
    """Start the board at a port anew, whatever its program is. Raises as `has_micropython`."""
    with closing(open_port(port)) as channel, suppress(OSError):  # its port goes away, and will be back
        channel.write(_TO_RESTART)


def restart(port: str) -> None:
    """Start the board at a port anew, and listen until its firmware has started, or its prompt is back.

    One request is sent along, and no other before it is answered: a slow board would have to answer them all. Raises
    as `has_micropython`.
    """
    with closing(open_port(port)) as channel, suppress(OSError):  # its port goes away, and will be back
        channel.write(_TO_RESTART + b"\n" + _REQUEST + b"\n")
        _listen(channel, perf_counter() + START_S, *_STARTED)


def _listen(channel: Channel, deadline_s: float, *signs: bytes) -> bytes:
    """Read until a sign has come, or time is over."""
    received = b""
    while not any(sign in received for sign in signs) and (left_s := deadline_s - perf_counter()) > 0:
        received += channel.read() if channel.wait(left_s) else b""
    return received


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

    def ask(self, code: str) -> Any:
        """Run a program on the board that prints its answer as a line of JSON behind `ANSWER`. Raises as `execute`."""
        (line,) = [line for line in self.execute(code).splitlines() if line.startswith(ANSWER)]
        return json.loads(line.removeprefix(ANSWER))

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

    def _mpremote(self, *command: str, limit_s: float, on_line: Callable[[str], None] = lambda line: None) -> str:
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
