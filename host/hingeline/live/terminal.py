"""The terminal comes back as it was: when a command ends, however it ends, and while it is stopped with Ctrl-Z."""

from __future__ import annotations

import signal
import sys
import threading
from contextlib import suppress
from typing import Any, Protocol

if sys.platform != "win32":
    import termios

LOCK = threading.RLock()
"""Held by who draws or gives the terminal back."""


class Shown(Protocol):
    """What has taken the terminal for itself."""

    def take(self) -> None:
        """Take the terminal, and draw all anew."""

    def give_back(self) -> None:
        """Give it back."""


_shown: list[Shown] = []
_before: list[Any] = []
"""How the terminal treated keys when the command began, once that is known."""


def remember_terminal() -> None:
    """Note how the terminal is now, and give it back while the command is stopped."""
    _before[:] = _attributes()
    if sys.platform != "win32" and _before:
        signal.signal(signal.SIGTSTP, _pause)
        signal.signal(signal.SIGCONT, _go_on)


def show(shown: Shown) -> None:
    """Let something take the terminal, until `hide` or `give_back`."""
    with LOCK:
        _shown.append(shown)
        shown.take()


def hide(shown: Shown) -> None:
    """Take the terminal back from it."""
    with LOCK:
        if shown in _shown:
            shown.give_back()
            _shown.remove(shown)


def give_back() -> None:
    """Bring the terminal back as it was, whatever was interrupted."""
    with LOCK:
        while _shown:
            with suppress(OSError):  # the terminal itself may be gone
                _shown.pop().give_back()
        _set(_before)


def _pause(number: int, frame: object) -> None:
    """Stop as the system would, with the terminal as it was before; then go on as before."""
    keys = _attributes()
    with LOCK:
        for shown in _shown:
            shown.give_back()
        _set(_before)
        signal.signal(number, signal.SIG_DFL)
        if sys.platform != "win32":  # where no signal stops a program
            signal.pthread_kill(threading.get_ident(), number)
        signal.signal(number, _pause)
        _set(keys)
        _go_on(number, frame)


def _go_on(number: int, frame: object) -> None:
    with LOCK:
        for shown in _shown:
            shown.take()


def _attributes() -> list[Any]:
    if sys.platform != "win32" and sys.stdin.isatty():
        with suppress(termios.error):
            return termios.tcgetattr(sys.stdin)
    return []


def _set(attributes: list[Any]) -> None:
    if sys.platform != "win32" and attributes:
        with suppress(termios.error):
            termios.tcsetattr(sys.stdin, termios.TCSADRAIN, attributes)
