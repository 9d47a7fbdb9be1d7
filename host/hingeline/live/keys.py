"""Keys as they are pressed: of a keyboard, a foot switch or a clicker, without Enter."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from hingeline.procedures.keys import Key

KEYS: dict[str, Key] = {
    " ": "take",
    "\r": "take",
    "\n": "take",
    "\x1b[6~": "take",
    "\x1bq": "take",
    "n": "next",
    "b": "back",
    "\x7f": "back",
    "\b": "back",
    "u": "units",
    "?": "help",
    "q": "quit",
}
"""Space, Enter, and the Page Down of a pedal or a clicker, as terminals and as Windows send it; in small letters.

No other key does anything.
"""
KEY_WORDS: dict[Key, str] = {
    "take": "take the reading now, or go on",
    "next": "go on without a reading",
    "back": "take the last reading back",
    "units": "swap units",
    "help": "name the keys",
    "quit": "stop; what was recorded is kept",
}
NO_KEYS = "no keys needed: stillness takes each reading"
_WAKE_S = 0.2
_ESCAPE = "\x1b"
"""An arrow's several characters begin with it; others that come together are several presses."""


@contextmanager
def hear_keys(pressed: Callable[[Key], None]) -> Iterator[None]:
    """Call `pressed` for each key, in a thread of its own, while the `with` lasts; the terminal is as before after."""

    def heed(text: str) -> None:
        if key := KEYS.get(text.lower()):
            pressed(key)

    with hear_typed(heed):
        yield


@contextmanager
def hear_typed(typed: Callable[[str], None]) -> Iterator[None]:
    """As `hear_keys`, with what the terminal sends for each key: an arrow's several characters are one."""
    over = threading.Event()

    def listen() -> None:
        while not over.is_set() and (text := _read()) is not None:
            for key in [text] if text.startswith(_ESCAPE) else text:
                typed(key)

    thread = threading.Thread(target=listen, name="keys", daemon=True)
    with _one_by_one():
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()


if sys.platform == "win32":
    import _thread
    import msvcrt
    import time
    from contextlib import nullcontext as _one_by_one

    PREFIXES = (b"\0", b"\xe0")
    """An arrow or a page key comes as one of them and a second byte; alone, `\xe0` is a letter of the code page."""
    CTRL_C = b"\x03"
    """Read as a character only where it is pressed during the read itself: else the system interrupts."""

    def _read() -> str | None:
        if not msvcrt.kbhit():
            time.sleep(_WAKE_S / 4)
            return ""
        key = msvcrt.getch()  # `kbhit` knows nothing of the second half that `getwch` keeps
        if key == CTRL_C:
            _thread.interrupt_main()
            return ""
        if key in PREFIXES and msvcrt.kbhit():
            return _ESCAPE + msvcrt.getch().decode("latin-1")
        return key.decode("latin-1")

else:
    import select
    import termios
    import tty

    @contextmanager
    def _one_by_one() -> Iterator[None]:
        """Have the terminal hand over each key at once and show none."""
        before = termios.tcgetattr(sys.stdin)
        tty.setcbreak(sys.stdin)
        try:
            yield
        finally:
            with suppress(termios.error):  # the terminal may be gone
                termios.tcsetattr(sys.stdin, termios.TCSADRAIN, before)

    def _read() -> str | None:
        """What was pressed since the last time; empty for nothing, None after the last."""
        try:
            ready, _, _ = select.select([sys.stdin], [], [], _WAKE_S)
            return (os.read(sys.stdin.fileno(), 64).decode(errors="replace") or None) if ready else ""
        except OSError:  # the terminal is gone
            return None
