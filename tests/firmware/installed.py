"""The firmware in a folder, as `hingeline install` puts it on a board: the tests' scripts for MicroPython import it."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from functools import cache
from pathlib import Path

import pytest

from hingeline.device.install.payload import payload
from hingeline_firmware import chips, pins


@cache
def library() -> Path:
    """The folder `lib` of a board with the firmware on it."""
    folder = Path(tempfile.mkdtemp(prefix="hingeline-board-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    for path, content in payload().items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_bytes(content)
    return folder / "lib"


def environment(*before: Path) -> dict[str, str]:
    """What MicroPython needs to import the firmware, and modules of the folders `before` it."""
    return {"MICROPYPATH": ":".join([*map(str, before), str(library()), ".frozen"])}


def use_tables(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the firmware on CPython find the tables that an installation makes."""
    monkeypatch.setattr(pins, "FILE", str(library() / "hingeline_firmware" / "pinmaps.jsonl"))
    monkeypatch.setattr(chips, "FILE", str(library() / "hingeline_firmware" / "chips.jsonl"))
