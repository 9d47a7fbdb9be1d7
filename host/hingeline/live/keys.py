"""Keys as they are pressed: of a keyboard, a foot switch or a clicker, without Enter."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable

from hingeline.procedures.keys import Key

KEYS: dict[str, Key] = {
    "n": "next",
    "b": "back",
    "\x7f": "back",
    "\b": "back",
    "u": "units",
    "?": "help",
    "q": "quit",
}
"""Every other key takes the reading: who presses a pedal does not choose which."""
NO_KEYS = "no keys needed: stillness takes each reading"
_WAKE_S = 0.2
_ESCAPE = "\x1b"
"""An arrow's several bytes begin with it; other bytes that come together are several presses."""


class Keyboard:
    """Calls `pressed` for each key while its `with` lasts; the terminal is as it was after it.

    Parameters
    ----------
    pressed
        Called in a thread of its own.
    """

    def __init__(self, pressed: Callable[[Key], None]) -> None:
        self._pressed = pressed
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._listen, name="keys", daemon=True)

    def __enter__(self) -> Keyboard:
        self._restore = _one_by_one()
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self._over.set()
        self._thread.join()
        self._restore()

    def _listen(self) -> None:
        while not self._over.is_set():
            text = _read()
            if text is None:
                return
            for key in [text] if text.startswith(_ESCAPE) else text:
                self._pressed(KEYS.get(key.lower(), "take"))


if sys.platform == "win32":
    import msvcrt
    import time

    def _one_by_one() -> Callable[[], None]:
        return lambda: None

    def _read() -> str | None:
        if msvcrt.kbhit():
            return msvcrt.getwch()
        time.sleep(_WAKE_S / 4)
        return ""

else:
    import select
    import termios
    import tty

    def _one_by_one() -> Callable[[], None]:
        """Have the terminal hand over each key at once and show none; return how to undo it."""
        descriptor = sys.stdin.fileno()
        before = termios.tcgetattr(descriptor)
        tty.setcbreak(descriptor)
        return lambda: termios.tcsetattr(descriptor, termios.TCSADRAIN, before)

    def _read() -> str | None:
        """What was pressed since the last time; empty for nothing, None after the last."""
        descriptor = sys.stdin.fileno()
        ready, _, _ = select.select([descriptor], [], [], _WAKE_S)
        if not ready:
            return ""
        return os.read(descriptor, 64).decode(errors="replace") or None
