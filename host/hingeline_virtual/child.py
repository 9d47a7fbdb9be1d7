"""The process behind a virtual board: the real firmware on MicroPython, or on CPython where there is none."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from binascii import crc32
from pathlib import Path

from hingeline.device.install.payload import payload
from hingeline_virtual.port import Port
from hingeline_virtual.truths import Board

_BOOT = Path(__file__).parent / "board" / "boot.py"


def micropython() -> str | None:
    """Return the path of a MicroPython: beside the running Python, else on the search path."""
    return shutil.which("micropython", path=str(Path(sys.executable).parent)) or shutil.which("micropython")


def install(folder: Path, board: Board) -> None:
    """Put into `folder` what installing puts on a board, and a configuration of its name, its pin map, its watchdog."""
    for path, content in payload().items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    told = {"name": board.name, "board": board.pins, "watchdog": board.watchdog}
    rest = b"1\n" + json.dumps(told).encode()
    (folder / "hingeline-config.0").write_bytes(b"%08X " % crc32(rest) + rest)


def spawn(
    folder: Path, board: Board, port: Port, bench: tuple[str, int], number: int, *, cause: int
) -> subprocess.Popen[bytes]:
    """Start a board's process in its folder.

    Parameters
    ----------
    bench
        Host and TCP port at which the bench takes transactions.
    number
        What the process calls itself there.
    cause
        Why the board starts: one of board/wire.py's.
    """
    interpreter = None if port.console is None else micropython()
    path = "MICROPYPATH" if interpreter else "PYTHONPATH"
    search = [str(_BOOT.parent), str(folder), str(folder / "lib")] + [".frozen"] * bool(interpreter)
    return subprocess.Popen(
        [interpreter or sys.executable, str(_BOOT)],
        cwd=folder,
        stdin=subprocess.DEVNULL if port.console is None else port.console,
        stdout=subprocess.DEVNULL if port.console is None else port.console,
        start_new_session=True,
        env={
            **os.environ,
            **port.environment,
            path: (":" if interpreter else os.pathsep).join(search),
            "PYTHONDONTWRITEBYTECODE": "1",
            "HINGELINE_BENCH": f"{bench[0]}:{bench[1]}",
            "HINGELINE_BOARD": str(number),
            "HINGELINE_RESET_CAUSE": str(cause),
            "HINGELINE_UID": board.uid,
            "HINGELINE_PINS": board.pins,
            "HINGELINE_FIRST_TICKS_US": str(board.first_ticks_us),
        },
    )
