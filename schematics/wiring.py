"""The wires of every build, from the pin maps that the firmware reads and from modules.json."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hingeline.device.install.pin_maps import PinMap, find_power, pin_maps

FOLDER = Path(__file__).parent
LEAD_M = 0.4
LABELS = ("left", "right", "left 2", "right 2")
ANY_MODULE: dict[str, Any] = {
    "chip": "any", "title": "sensor module", "pins": {"3V3": "3V3", "GND": "GND", "SCL": "SCL", "SDA": "SDA"},
    "addresses": {"0": "first", "1": "second"}, "pulled_up_to": 3.3, "pull_up_ohm": 4700, "supply_v": [3.3, 3.3],
}  # fmt: skip
"""A module whose other pads are bridged, see the drawing of each; its addresses are its first and its second."""
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
    board: PinMap
    pins: tuple[Pin, ...]
    modules: tuple[Module, ...]


def builds() -> tuple[Build, ...]:
    """Every board with two of each module, left and right, and one board with four."""
    parts = {part["chip"]: part for part in modules()}
    return _wire_boards(parts, parts["mpu6050"])


def drawn_builds() -> tuple[Build, ...]:
    """The builds that are drawn: every board with two modules of any kind, and one board with four."""
    return _wire_boards({ANY_MODULE["chip"]: ANY_MODULE}, ANY_MODULE)


def _wire_boards(parts: dict[str, dict[str, Any]], part_of_four: dict[str, Any]) -> tuple[Build, ...]:
    """Wire every board to two modules of each part, and one board to four of one part."""
    boards = pin_maps()
    rows = [_row(board, part, 2) for board in boards.values() for part in parts.values()]
    return tuple(build(row, parts) for row in [*rows, _row(boards["pico2"], part_of_four, 4)])


def modules() -> list[dict[str, Any]]:
    """Read the sensor modules of modules.json: pads, pull-ups, supply, and length and width as usually sold."""
    rows: list[dict[str, Any]] = _read(FOLDER / "modules.json")
    return rows


def _row(board: PinMap, part: dict[str, Any], count: int) -> dict[str, Any]:
    """A build of modules of one kind: first one on each bus at the first address, then at the second."""
    places = [(bus, int(address)) for address in part["addresses"] for bus, _, _ in board.lines]
    sensors = [
        {"label": label, "chip": part["chip"], "bus": bus, "address": address, "lead_m": LEAD_M}
        for label, (bus, address) in zip(LABELS[:count], places[:count], strict=True)
    ]
    name = f"{board.name}-{part['chip']}-x{count}"
    return {"name": name, "board": board, "sensors": sorted(sensors, key=lambda sensor: str(sensor["label"]))}


def build(row: dict[str, Any], parts: dict[str, dict[str, Any]]) -> Build:
    """Wire one board to its sensors, with the parts by chip."""
    board: PinMap = row["board"]
    wired = tuple(_module(sensor, parts[sensor["chip"]]) for sensor in row["sensors"])
    nets = {pin.net for module in wired for pin in module.pins} | set(board.kept)
    pins = tuple(pin for pin in _board_pins(board) if pin.net in nets)
    return Build(row["name"], board, pins, wired)


def _board_pins(board: PinMap) -> list[Pin]:
    """A pin for each net; a GPIO used twice, or kept for the board itself, comes twice, and `rules.py` reports it."""
    lines = [(sda, f"SDA{bus}") for bus, sda, _ in board.lines] + [(scl, f"SCL{bus}") for bus, _, scl in board.lines]
    wired = {gpio for gpio, _ in lines}
    kept = [(gpio, served) for served, gpios in board.kept.items() for gpio in gpios if gpio in wired]
    power = [find_power(board.pins, board.lines[0][1], net) for net in ("3V3", "GND")]
    return [
        Pin(pin.label, pin.at, net)
        for pin in board.pins
        for net in [
            *([pin.net] if pin in power and pin.net else []),
            *[net for gpio, net in [*lines, *kept] if pin.gpio == gpio],
        ]
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
