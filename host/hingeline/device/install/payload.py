"""What goes on a board, each file and its place there.

::

    main.py                            starts the firmware at boot: the last to come
    lib/hingeline_firmware/*.py
    lib/hingeline_firmware/chips/*.py
    lib/hingeline_firmware/pinmaps.jsonl  the boards, a line each: what the firmware needs of the pin maps
    lib/hingeline_protocol/*.py
    hingeline-<name>.<copy>            configuration and calibrations, the board's own: never touched
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files
from typing import TYPE_CHECKING

from hingeline.device.install import pin_maps

if TYPE_CHECKING:
    from importlib.abc import Traversable

MAIN = "main.py"
PACKAGES = ("hingeline_firmware", "hingeline_protocol")
PIN_MAPS = "lib/hingeline_firmware/pinmaps.jsonl"


def payload() -> dict[str, bytes]:
    """Read every file that goes on a board, by its path there, `main.py` last."""
    contents = {path: content for package in PACKAGES for path, content in _files(files(package), f"lib/{package}")}
    main = contents.pop(f"lib/{PACKAGES[0]}/{MAIN}")
    contents[PIN_MAPS] = pin_maps.board_table()
    return {**dict(sorted(contents.items())), MAIN: main}


def firmware_version() -> str:
    """Read the version of the firmware that `payload` holds."""
    source = files(PACKAGES[0]).joinpath("app.py").read_text()
    (version,) = re.findall(r'^VERSION = "(.+)"$', source, re.MULTILINE)
    return str(version)


def _files(folder: Traversable, place: str) -> Iterator[tuple[str, bytes]]:
    for entry in folder.iterdir():
        if entry.is_dir():
            yield from _files(entry, f"{place}/{entry.name}")
        elif entry.name.endswith(".py"):
            yield f"{place}/{entry.name}", entry.read_bytes()
