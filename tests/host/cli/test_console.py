"""Terminals of Windows, by a `kernel32` that answers as wincon.h says; letters that a code page lacks."""

import ctypes
import io
import subprocess
import sys
import types

import pytest

from hingeline.cli import console

CONSOLE = 3
"""The mode of a classic window at first; `NUL` has none."""


class Kernel:
    """What of kernel32.dll is asked: `modes` by handle; `knows_vt` of a Windows that can heed escape sequences."""

    def __init__(self, modes, knows_vt=True):
        self.modes, self.knows_vt = modes, knows_vt

    def GetConsoleMode(self, handle, mode):
        if handle.value not in self.modes:
            return 0
        mode._obj.value = self.modes[handle.value]
        return 1

    def SetConsoleMode(self, handle, mode):
        if not self.knows_vt:
            return 0
        self.modes[handle.value] = mode
        return 1


class Stream(io.StringIO):
    """A standard stream whose descriptor is a character device."""

    def __init__(self, descriptor):
        super().__init__()
        self._descriptor = descriptor

    def fileno(self):
        return self._descriptor

    def isatty(self):
        return True


@pytest.fixture
def windows(monkeypatch):
    """A function that makes this system Windows with a kernel."""

    def become(kernel):
        monkeypatch.setattr(console, "WINDOWS", True)
        monkeypatch.setattr(ctypes, "windll", types.SimpleNamespace(kernel32=kernel), raising=False)
        runtime = types.ModuleType("msvcrt")
        runtime.get_osfhandle = lambda descriptor: 10 + descriptor
        monkeypatch.setitem(sys.modules, "msvcrt", runtime)
        monkeypatch.delenv("TERM", raising=False)
        return kernel

    return become


def test_nul_is_no_terminal(windows):
    windows(Kernel({12: CONSOLE}))
    assert not console.is_terminal(Stream(0))
    assert not console.is_terminal(Stream(3))  # a standard stream that was closed leads there
    assert console.is_terminal(Stream(2))


def test_a_classic_window_is_told_to_heed_sequences(windows):
    kernel = windows(Kernel({12: CONSOLE}))
    assert console.draws(Stream(2))
    assert kernel.modes[12] == CONSOLE | 4  # ENABLE_VIRTUAL_TERMINAL_PROCESSING


def test_on_a_window_that_heeds_none_nothing_is_drawn(windows):
    windows(Kernel({12: CONSOLE}, knows_vt=False))
    assert not console.draws(Stream(2))


@pytest.mark.parametrize(
    ("page", "text", "written"),
    [
        ("cp1252", "√Hz ±0.1° …", "sqrt Hz ±0.1° …"),
        ("cp850", "√Hz ±0.1° …", "sqrt Hz ±0.1° ..."),
        ("cp1252", "Čáp 鶴 →", "Cáp ? ->"),
        ("ascii", "é█", "e#"),
    ],
)
def test_letters_that_a_code_page_lacks_are_spelled(page, text, written):
    script = f"from hingeline.cli.streams import prepare_streams; prepare_streams(); print({text!r})"
    command = [sys.executable, "-X", "utf8=0", "-c", script]
    output = subprocess.run(command, capture_output=True, check=True, env={"PYTHONIOENCODING": page}).stdout
    assert output.decode(page).rstrip() == written
