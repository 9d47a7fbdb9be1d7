"""What only POSIX has. Elsewhere a test is skipped as soon as it asks for it, and the reason names what that was."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

import pytest

REASON = "needs {}, which only POSIX has"


class _Absent:
    """Stands for a module of Python's library that this system has not."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, name: str) -> NoReturn:
        if name.startswith("_"):
            raise AttributeError(name)
        pytest.skip(REASON.format(f"{self._name}.{name}"))


try:
    import grp
    import posix
    import pty
    import resource
    import termios
    import tty
except ImportError:
    grp, posix, pty, resource, termios, tty = map(_Absent, ("grp", "posix", "pty", "resource", "termios", "tty"))


def needs_posix(need: str) -> pytest.MarkDecorator:
    """Mark a test that needs something else of POSIX: say what."""
    return pytest.mark.skipif(isinstance(pty, _Absent), reason=REASON.format(need))


def write_program(path: Path, script: str) -> None:
    """Write a program in the language of sh."""
    if isinstance(posix, _Absent):
        pytest.skip(REASON.format("sh"))
    path.write_text(f"#!/bin/sh\n{script}")
    path.chmod(0o755)
