"""What nobody foresaw: one line for the person, and a file with all that whoever mends it has to know."""

from __future__ import annotations

import importlib.metadata
import os
import platform
import sys
import tempfile
import threading
import traceback
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from hingeline import __version__
from hingeline.errors import HingelineError
from hingeline.storage.last_events import LAST_EVENTS
from hingeline.storage.store import default_root
from hingeline.units import printable

EX_SOFTWARE = 70
"""An internal fault: sysexits.h of BSD."""
PACKAGES = ("click", "filelock", "jinja2", "matplotlib", "mpremote", "numpy", "pydantic", "pyserial", "rich", "scipy")


def report_fault(fault: BaseException) -> HingelineError:
    """Write the report of a fault, and say what it was, what is kept, and what to do."""
    path = _write(_report(fault))
    place = f"send {path} as docs/contributing.md says" if path else "no report of it could be written"
    return HingelineError(
        f"This is a fault of hingeline itself: {type(fault).__name__}{_where(fault)}",
        printable(f"What was recorded until then is kept; {place}, and do it again"),
    )


def _where(fault: BaseException) -> str:
    frames = traceback.extract_tb(fault.__traceback__, limit=-1)
    return f" in {Path(frames[-1].filename).name}, line {frames[-1].lineno}" if frames else ""


def _report(fault: BaseException) -> str:
    versions = [f"hingeline {__version__}", f"Python {platform.python_version()}", platform.platform()]
    for name in PACKAGES:
        with suppress(importlib.metadata.PackageNotFoundError):
            versions.append(f"{name} {importlib.metadata.version(name)}")
    parts = {
        "Versions": "\n".join(versions),
        "Command": " ".join(["hingeline", *sys.argv[1:]]),
        "Thread": threading.current_thread().name,
        "Fault": "".join(traceback.format_exception(fault, limit=-40)),
        "Last events of the run": "\n".join(LAST_EVENTS) or "None was recorded.",
    }
    return "\n\n".join(f"{title}\n{'-' * len(title)}\n{text.strip()}" for title, text in parts.items()) + "\n"


def _write(text: str) -> Path | None:
    name = f"hingeline-fault-{datetime.now().strftime('%Y-%m-%d_%H-%M-%S')}-{os.getpid()}.txt"
    for folder in (default_root(), Path.cwd(), Path(tempfile.gettempdir())):
        with suppress(OSError):
            with open(folder / name, "x", encoding="utf-8", errors="replace") as file:
                file.write(text)
            return folder / name
    return None
