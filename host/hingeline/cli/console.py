"""The terminal as this system has it: whether it is one, whether it can be drawn on."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from typing import Any, TextIO

WINDOWS = sys.platform == "win32"
VT_PROCESSING = 0x0004
"""ENABLE_VIRTUAL_TERMINAL_PROCESSING of wincon.h: the console heeds escape sequences; classic windows do when told."""


def is_terminal(stream: TextIO) -> bool:
    """Whether a person is at the other end: of `NUL`, Windows says so too."""
    return stream.isatty() and (not WINDOWS or _mode(stream) is not None)


def draws(stream: TextIO) -> bool:
    """Whether a screen can be drawn there; a classic window of Windows is told to heed escape sequences."""
    if not is_terminal(stream) or os.environ.get("TERM") == "dumb":
        return False
    return not WINDOWS or _heeds_sequences(stream)


def _mode(stream: TextIO) -> int | None:
    """The mode of a console of Windows; None where it is none."""
    import ctypes

    mode = ctypes.c_ulong()
    return mode.value if _kernel().GetConsoleMode(_handle(stream), ctypes.byref(mode)) else None


def _heeds_sequences(stream: TextIO) -> bool:
    mode = _mode(stream) or 0
    return bool(mode & VT_PROCESSING or _kernel().SetConsoleMode(_handle(stream), mode | VT_PROCESSING))


def _handle(stream: TextIO) -> Any:
    import ctypes

    return ctypes.c_void_p(import_module("msvcrt").get_osfhandle(stream.fileno()))


def _kernel() -> Any:
    import ctypes

    return ctypes.__dict__["windll"].kernel32
