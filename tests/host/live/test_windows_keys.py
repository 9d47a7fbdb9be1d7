"""Keys as a console of Windows hands them over: an arrow is two characters, of which the first is `\\0` or `\\xe0`.

That is what Microsoft's reference of `_getwch` says.
"""

import importlib.util
import sys
import threading
import types

import pytest

from hingeline.live import keys


@pytest.fixture
def press(monkeypatch):
    """A function that has characters waiting at a console of Windows, and returns the keys that are heard."""
    waiting: list[str] = []
    console = types.ModuleType("msvcrt")
    console.kbhit = lambda: bool(waiting)
    console.getwch = lambda: waiting.pop(0)
    monkeypatch.setitem(sys.modules, "msvcrt", console)
    monkeypatch.setattr(sys, "platform", "win32")
    spec = importlib.util.spec_from_file_location("keys_of_windows", keys.__file__)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    def hear(*characters, count):
        pressed, complete = [], threading.Event()

        def on_key(key):
            pressed.append(key)
            if len(pressed) == count:
                complete.set()

        with module.hear_keys(on_key):
            waiting.extend(characters)
            assert complete.wait(10)
        return pressed

    return hear


@pytest.mark.parametrize("prefix", ["\0", "\xe0"])
def test_a_page_key_is_one_key(press, prefix):
    """A clicker's page down is `\\xe0Q`: it takes one reading, and does not quit."""
    assert press(prefix, "Q", "n", count=2) == ["take", "next"]


def test_letters_that_arrive_at_once_are_each_heeded(press):
    assert press("n", "b", "\xe4", count=3) == ["next", "back", "take"]


def test_ctrl_c_that_is_pressed_during_a_read_interrupts(press):
    with pytest.raises(KeyboardInterrupt):
        press("\x03", count=1)
