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
from hingeline_virtual.scenario import Board

_BOOT = Path(__file__).parent / "on_board" / "boot.py"
_OWN_GROUP = getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)
"""On Windows, where there are no sessions: Ctrl-C at the terminal is for the bench, which ends its boards."""


def micropython() -> str | None:
    """Find a MicroPython: beside the running Python, else on the search path."""
    return shutil.which("micropython", path=str(Path(sys.executable).parent)) or shutil.which("micropython")


def install_firmware(folder: Path, board: Board) -> None:
    """Write into `folder` the files of an installed board, and its configuration: name, pin map, watchdog."""
    for path, content in payload(sources=True).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    spi = any(sensor.bus >= 2 for sensor in board.sensors)
    configuration = {"name": board.name, "board": board.pins, "watchdog": board.watchdog, "spi": spi}
    rest = b"1\n" + json.dumps(configuration).encode()
    (folder / "hingeline-config.0").write_bytes(b"%08X " % crc32(rest) + rest)


def start_process(
    folder: Path, board: Board, port: Port, bench: tuple[str, int], number: int, *, cause: int
) -> subprocess.Popen[bytes]:
    """Start a board's process in its folder.

    Parameters
    ----------
    bench
        Host and TCP port at which the bench serves transactions.
    number
        Identifies the process there.
    cause
        Why the board starts: a constant of on_board/transactions.py.
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
        creationflags=_OWN_GROUP,
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
