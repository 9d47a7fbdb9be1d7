"""What the firmware holds: its pin maps, and what goes on a board, each file and its place there.

::

    main.py                            starts the firmware at boot: the last to come
    lib/hingeline_firmware/*.py
    lib/hingeline_firmware/chips/*.py
    lib/hingeline_firmware/pinmaps/*.json
    lib/hingeline_protocol/*.py
    hingeline-<name>.<copy>            configuration and calibrations, the board's own: never touched
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from importlib.abc import Traversable

MAIN = "main.py"
PACKAGES = ("hingeline_firmware", "hingeline_protocol")
_SUFFIXES = (".py", ".json")


def payload() -> dict[str, bytes]:
    """Read every file that goes on a board, by its path there, `main.py` last."""
    contents = {path: content for package in PACKAGES for path, content in _files(files(package), f"lib/{package}")}
    main = contents.pop(f"lib/{PACKAGES[0]}/{MAIN}")
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
        elif entry.name.endswith(_SUFFIXES):
            yield f"{place}/{entry.name}", entry.read_bytes()


@dataclass(frozen=True)
class Bus:
    """An I2C bus and the labels of its pins on the board."""

    number: int
    sda: str
    scl: str


@dataclass(frozen=True)
class PinMap:
    """A board's buses, and the labels of its pins for supply and ground."""

    name: str
    title: str
    buses: tuple[Bus, ...]
    supply: str
    ground: str


def pin_maps() -> dict[str, PinMap]:
    """Read every pin map, by name."""
    folder = files("hingeline_firmware").joinpath("pinmaps")
    read = [_pin_map(json.loads(entry.read_text())) for entry in folder.iterdir()]
    return {pin_map.name: pin_map for pin_map in sorted(read, key=lambda pin_map: pin_map.name)}


def _pin_map(data: dict[str, Any]) -> PinMap:
    def label(key: str, value: Any) -> str:
        (first, *_) = [f"{pin['label']} (pin {pin['at']})" for pin in data["pins"] if pin.get(key) == value]
        return first

    buses = (Bus(bus["id"], label("gpio", bus["sda"]), label("gpio", bus["scl"])) for bus in data["buses"])
    return PinMap(data["name"], data["title"], tuple(buses), label("net", "3V3"), label("net", "GND"))
