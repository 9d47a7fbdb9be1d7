"""The wires of every build, from the pin maps that the firmware reads and from modules.json."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent
PIN_MAPS = FOLDER.parent / "firmware" / "hingeline_firmware" / "pinmaps"


LEAD_M = 0.4
LABELS = ("left", "right", "left 2", "right 2")
RAILS_V = {"3V3": 3.3, "5V": 5.0}
"""The supplies that boards have. `rules.py` refuses some modules on the second one."""


@dataclass(frozen=True)
class Pin:
    """One end of a wire.

    Parameters
    ----------
    label
        Printed beside the pin.
    at
        Its place on the board's headers; empty on a module.
    net
        `3V3`, `GND`, or a line of a bus, such as `SDA0`.
    """

    label: str
    at: str
    net: str


@dataclass(frozen=True)
class Module:
    """A sensor module in a build.

    Parameters
    ----------
    signal_v
        Voltage of its pull-ups at SDA and SCL: on the board's side if it has a level shifter.
    """

    label: str
    title: str
    chip: str
    bus: int
    address: int
    lead_m: float
    pull_up_ohm: float
    supply_v: tuple[float, float]
    signal_v: float
    pins: tuple[Pin, ...]


@dataclass(frozen=True)
class Build:
    """A board and its modules."""

    name: str
    title: str
    pins: tuple[Pin, ...]
    modules: tuple[Module, ...]


def builds() -> tuple[Build, ...]:
    """Every board with two of each module, left and right, and one board with four."""
    parts = {part["chip"]: part for part in modules()}
    boards = [path.stem for path in sorted(PIN_MAPS.glob("*.json"))]
    rows = [_row(board, part, 2) for board in boards for part in parts.values()]
    return tuple(build(row, parts) for row in [*rows, _row("pico2", parts["mpu6050"], 4)])


def modules() -> list[dict[str, Any]]:
    """Read the sensor modules of modules.json: pads, pull-ups, supply, and length and width as usually sold."""
    rows: list[dict[str, Any]] = _read(FOLDER / "modules.json")
    return rows


def _row(board: str, part: dict[str, Any], count: int) -> dict[str, Any]:
    """A build of modules of one kind: first one on each bus at the first address, then at the second."""
    buses = [bus["id"] for bus in _read(PIN_MAPS / f"{board}.json")["buses"]]
    places = [(bus, int(address)) for address in part["addresses"] for bus in buses]
    sensors = [
        {"label": label, "chip": part["chip"], "bus": bus, "address": address, "lead_m": LEAD_M}
        for label, (bus, address) in zip(LABELS[:count], places[:count], strict=True)
    ]
    name = f"{board}-{part['chip']}-x{count}"
    return {"name": name, "board": board, "sensors": sorted(sensors, key=lambda sensor: str(sensor["label"]))}


def build(row: dict[str, Any], parts: dict[str, dict[str, Any]]) -> Build:
    """Wire one board to its sensors, with the parts by chip."""
    pin_map = _read(PIN_MAPS / f"{row['board']}.json")
    modules = tuple(_module(sensor, parts[sensor["chip"]]) for sensor in row["sensors"])
    nets = {pin.net for module in modules for pin in module.pins} | set(pin_map["kept"])
    pins = tuple(pin for pin in _board_pins(pin_map) if pin.net in nets)
    return Build(row["name"], pin_map["title"], pins, modules)


def _board_pins(pin_map: dict[str, Any]) -> list[Pin]:
    """A pin for each net, also those the board keeps: a GPIO used twice comes twice, and `rules.py` reports it."""
    lines = [(bus[line], f"{line.upper()}{bus['id']}") for bus in pin_map["buses"] for line in ("sda", "scl")]
    lines += [(gpio, served) for served, gpios in pin_map["kept"].items() for gpio in gpios]
    return [
        Pin(pin["label"], pin["at"], net)
        for pin in pin_map["pins"]
        for net in ([pin["net"]] if "net" in pin else [net for gpio, net in lines if gpio == pin["gpio"]])
    ]


def _module(sensor: dict[str, Any], part: dict[str, Any]) -> Module:
    nets = {
        "SDA": f"SDA{sensor['bus']}",
        "SCL": f"SCL{sensor['bus']}",
        "address": part["addresses"][str(sensor["address"])],
    }
    return Module(
        label=sensor["label"],
        title=part["title"],
        chip=sensor["chip"],
        bus=sensor["bus"],
        address=sensor["address"],
        lead_m=sensor["lead_m"],
        pull_up_ohm=part["pull_up_ohm"],
        supply_v=tuple(part["supply_v"]),
        signal_v=_signal_v(part),
        pins=tuple(Pin(label, "", nets.get(net, net)) for label, net in part["pins"].items()),
    )


def _signal_v(part: dict[str, Any]) -> float:
    """The level of a module's lines: its regulator's, or that of its supply, which is its first pin."""
    level: float | str = part["pulled_up_to"]
    return RAILS_V[next(iter(part["pins"].values()))] if isinstance(level, str) else level


def _read(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))
