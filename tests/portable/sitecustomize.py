"""Makes this computer as poor as Windows, for every Python that has this folder on its path: `make portable`.

The libraries come first and stay as they are. Then the system calls itself win32, hingeline finds no module that only
POSIX has, `msvcrt` reads the keys as a console of Windows gives them, streams hold the letters of code page 1252, the
clock goes in steps, and a file that is to be replaced is at first still held by another program.
"""

import builtins
import contextlib
import importlib
import io
import os
import sys
import time
import types

POSIX_ONLY = {"fcntl", "grp", "posix", "pty", "pwd", "resource", "termios", "tty"}
LIBRARIES = (
    "asyncio", "click", "concurrent.futures", "filelock", "jinja2", "logging.config", "matplotlib",
    "multiprocessing", "numpy", "platform", "platformdirs", "pydantic", "rich.console", "rich.live", "scipy.optimize",
    "scipy.spatial.transform", "scipy.stats", "segno", "selectors", "serial", "serial.tools.list_ports", "shutil",
    "socketserver", "ssl", "subprocess", "tempfile", "tomlkit", "urllib.request", "uuid", "webbrowser",
)  # fmt: skip
OURS = ("hingeline", "hingeline_calibration", "hingeline_protocol", "hingeline_virtual")
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
    module.getwch = lambda: os.read(sys.stdin.fileno(), 1).decode("cp1252", "replace")
    return module


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


def become_windows() -> None:
    """Take away what Windows has not."""
    for name in LIBRARIES:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    sys.modules["msvcrt"] = console()
    builtins.__import__ = import_as_on_windows
    os.replace = held_at_first(os.replace)
    ordinary_ns = time.monotonic_ns
    time.monotonic_ns = lambda: ordinary_ns() // TICK_NS * TICK_NS
    time.monotonic = lambda: time.monotonic_ns() / 1e9
    for stream in (sys.stdin, sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding="cp1252")
    sys.platform = "win32"


if os.environ.get("HINGELINE_PORTABLE"):
    become_windows()
