"""How sensors are wired to a board, from the pin maps that the firmware itself uses."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import Any

from hingeline.units import aligned


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


def rewired(pin_map: PinMap, buses: Sequence[Mapping[str, int]] | None) -> PinMap:
    """Put the buses of a board's configuration (id, sda, scl by GPIO), if it has any, in place of a pin map's own."""
    if not buses:
        return pin_map
    configured = (Bus(bus["id"], f"GPIO {bus['sda']}", f"GPIO {bus['scl']}") for bus in buses)
    return replace(pin_map, buses=tuple(configured))


def wiring_table(pin_map: PinMap) -> str:
    """Tell which pin of a module goes to which pin of the board, a column for each bus."""
    supply, second = pin_map.supply, "GND (second module: 3V3)"
    pins = ("module", "VCC, VIN or VDD", "GND", "SDA", "SCL", "CS, if it has one", "AD0, SDO, SA0 or ASEL")
    wires = [
        (f"bus {bus.number}", supply, pin_map.ground, bus.sda, bus.scl, supply, second)
        for bus in pin_map.buses
    ]
    return "\n".join([pin_map.title, *aligned(zip(pins, *wires, strict=True))])


def _pin_map(data: dict[str, Any]) -> PinMap:
    def label(key: str, value: Any) -> str:
        (first, *_) = [f"{pin['label']} (pin {pin['at']})" for pin in data["pins"] if pin.get(key) == value]
        return first

    buses = (Bus(bus["id"], label("gpio", bus["sda"]), label("gpio", bus["scl"])) for bus in data["buses"])
    return PinMap(data["name"], data["title"], tuple(buses), label("net", "3V3"), label("net", "GND"))
