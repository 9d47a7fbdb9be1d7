"""Makes this computer as poor as Windows, for every Python that has this folder on its path: `make portable`.

The libraries come first and stay as they are. Then the system calls itself win32, hingeline finds no module that only
POSIX has, `msvcrt` reads the keys as a console of Windows gives them, streams hold the letters of code page 1252, the
clock goes in steps, and a file that is to be replaced is at first still held by another program.
"""

import builtins
import contextlib
import ctypes
import importlib
import io
import os
import shutil
import subprocess
import sys
import time
import types

POSIX_ONLY = {"fcntl", "grp", "posix", "pty", "pwd", "resource", "termios", "tty"}
LIBRARIES = (
    "asyncio", "click", "concurrent.futures.process", "filelock", "jinja2", "logging.config", "matplotlib.pyplot",
    "multiprocessing", "numpy", "platform", "platformdirs", "pydantic", "rich.console", "rich.live", "scipy.optimize",
    "scipy.spatial.transform", "scipy.stats", "segno", "selectors", "serial", "serial.tools.list_ports", "shutil",
    "socketserver", "ssl", "subprocess", "tempfile", "tomlkit", "urllib.request", "uuid", "webbrowser",
)  # fmt: skip
OURS = ("hingeline", "hingeline_calibration", "hingeline_protocol", "hingeline_virtual", "tests")
PAGE = "cp1252"
TICK_NS = 15_625_000
"""Of the clock of Windows that programs are given who ask for no finer one."""
HELD = 2
"""So often a replacement is refused before it succeeds."""

ordinary_import = builtins.__import__


def import_as_on_windows(name, globals=None, *rest, **more):
    """Refuse our own code what only POSIX has."""
    if name in POSIX_ONLY and (globals or {}).get("__name__", "").split(".")[0] in OURS:
        raise ModuleNotFoundError(f"No module named {name!r}", name=name)
    return ordinary_import(name, globals, *rest, **more)


def console() -> types.ModuleType:
    """A `msvcrt` whose keys are what comes at standard input."""
    import select

    module = types.ModuleType("msvcrt")
    module.kbhit = lambda: bool(select.select([sys.stdin], [], [], 0)[0])
    module.getch = lambda: os.read(sys.stdin.fileno(), 1)
    module.get_osfhandle = lambda descriptor: descriptor + 1  # of 0 ctypes makes a null
    return module


class Kernel:
    """What of Windows' consoles kernel32.dll tells: a terminal is one that heeds escape sequences."""

    @staticmethod
    def GetConsoleMode(handle, mode) -> int:
        mode._obj.value = 7
        return os.isatty(handle.value - 1)

    GetACP = staticmethod(lambda: 1252)
    GetConsoleCP = GetConsoleOutputCP = staticmethod(lambda: 850)


def held_at_first(ordinary):
    """A replacement that a virus scanner holds up."""
    refused: dict[str, int] = {}

    def replace(source, target, **more):
        name = os.fspath(target)
        if refused.setdefault(name, 0) < HELD and os.path.exists(name):
            refused[name] += 1
            raise PermissionError(13, "The process cannot access the file", name)
        refused.pop(name)
        ordinary(source, target, **more)

    return replace


def in_code_page(named: dict) -> dict:
    """Read the text of another program in the code page of this computer, where nothing else is asked for."""
    is_text = named.get("text") or named.get("universal_newlines")
    return {"encoding": PAGE, "errors": "replace", **named} if is_text and not named.get("encoding") else named


def become_windows() -> None:
    """Take away what Windows has not."""
    for name in LIBRARIES:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    sys.modules["msvcrt"] = console()
    ctypes.windll = types.SimpleNamespace(kernel32=Kernel())
    shutil.sys = types.SimpleNamespace(**{**vars(sys), "platform": sys.platform})  # it looks for .exe files else
    ordinary_which = shutil.which
    shutil.which = lambda name, **more: None if name == "micropython" else ordinary_which(name, **more)
    ordinary_popen = subprocess.Popen.__init__
    subprocess.Popen.__init__ = lambda *given, **named: ordinary_popen(*given, **in_code_page(named))
    builtins.__import__ = import_as_on_windows
    os.replace = held_at_first(os.replace)
    ordinary_ns = time.monotonic_ns  # `perf_counter` is fine there too
    time.monotonic_ns = lambda: ordinary_ns() // TICK_NS * TICK_NS
    time.monotonic = lambda: time.monotonic_ns() / 1e9
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and "PYTHONIOENCODING" not in os.environ:
            stream.reconfigure(encoding=PAGE)
    sys.platform = "win32"


if os.environ.get("HINGELINE_PORTABLE"):
    become_windows()
