"""Keys as a console of Windows hands them over: an arrow is two bytes, of which the first is `\\0` or `\\xe0`.

That is what Microsoft's reference of `_getch` says. Between the two, `_kbhit` knows of the second where `_getch` keeps
it, and not where `_getwch` does: that has a place of its own (getch.cpp and getwch.cpp of Microsoft's C library).
"""

import importlib.util
import sys
import threading
import types
from collections import deque

import pytest

from hingeline.live import keys


class Console(types.ModuleType):
    """A `msvcrt` at whose console keys wait, each of a byte or two."""

    def __init__(self):
        super().__init__("msvcrt")
        self.waiting, self._kept, self._kept_wide = deque(), deque(), deque()

    def kbhit(self):
        return bool(self._kept or self.waiting)

    def getch(self):
        return self._next(self._kept)

    def getwch(self):
        return self._next(self._kept_wide).decode("latin-1")

    def _next(self, kept):
        if not kept:
            kept.extend(bytes([byte]) for byte in self.waiting.popleft())
        return kept.popleft()


@pytest.fixture
def press(monkeypatch):
    """A function that has keys waiting at a console of Windows, and returns those that are heard."""
    console = Console()
    monkeypatch.setitem(sys.modules, "msvcrt", console)
    monkeypatch.setattr(sys, "platform", "win32")
    spec = importlib.util.spec_from_file_location("keys_of_windows", keys.__file__)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    def hear(*waiting, count):
        pressed, complete = [], threading.Event()

        def on_key(key):
            pressed.append(key)
            if len(pressed) == count:
                complete.set()

        with module.hear_keys(on_key):
            console.waiting.extend(waiting)
            assert complete.wait(10)
        return pressed

    return hear


@pytest.mark.parametrize("prefix", [b"\0", b"\xe0"])
def test_a_page_key_is_one_key(press, prefix):
    """A clicker's page down is `\\xe0Q`: it takes one reading, and does not quit."""
    assert press(prefix + b"Q", b"n", count=2) == ["take", "next"]


def test_a_letter_that_is_a_prefix_too_is_not_waited_for(press):
    """`\\xe0` is ó in code page 850, à in 1252: no key that does anything, and the next is heard at once."""
    assert press(b"n", b"\xe0", count=1) == ["next"]


def test_letters_that_arrive_at_once_are_each_heeded(press):
    assert press(b"n", b"b", b"\xe4", b" ", count=3) == ["next", "back", "take"]


def test_ctrl_c_that_is_pressed_during_a_read_interrupts(press):
    with pytest.raises(KeyboardInterrupt):
        press(b"\x03", count=1)
