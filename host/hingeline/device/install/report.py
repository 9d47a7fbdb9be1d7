"""What a board says of its buses once it runs, and what to do where nothing answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from hingeline.device.install.wiring import Bus, pin_maps, rewired, wiring_table
from hingeline.device.link.board import BoardLink
from hingeline.device.samples import SensorInfo

NOTHING = (
    "No sensor answers. Pull the USB cable, then check each wire against this table, and that every pin is soldered "
    "and not just plugged. A chip heated by reversed supply stays silent for good: try the other module."
)
NO_PIN_MAP = (
    "Choose the pin map of a board with the same microcontroller and pins: `hingeline install --board NAME`"
)


def called(board: str, name: str) -> str:
    """Return how a board is called, which may have no name of its own."""
    return f'{board} "{name}"' if name else board


def report(link: BoardLink) -> dict[str, Any]:
    """Return what is on each bus of a board, and what the board complains of."""
    return {
        "port": link.port,
        "board": link.board.board,
        "name": link.about.name,
        "watchdog": link.about.watchdog,
        "uid": link.board.uid,
        "firmware": link.board.firmware,
        "sensors": [asdict(info) for info in link.sensors],
        "notices": list(dict.fromkeys(link.notices)),
    }


def report_text(link: BoardLink, buses: Sequence[Mapping[str, int]] | None) -> str:
    """Return the same for a reader, with the wiring table where nothing answers.

    `buses` are those of the board's configuration, None where it goes by its pin map.
    """
    name, board = called(link.board.board, link.about.name), link.board
    lines = [f"{name} at {link.port}, firmware {board.firmware}, uid {board.uid}"]
    lines += [f"  {notice}" for notice in dict.fromkeys(link.notices)]
    pin_map = pin_maps().get(link.board.board)
    if pin_map is None:
        return "\n".join([*lines, f"{NO_PIN_MAP}. Pin maps: {', '.join(pin_maps())}"])
    pin_map = rewired(pin_map, buses)
    lines += [f"  {_bus_text(bus, link.sensors)}" for bus in pin_map.buses]
    if not link.sensors:
        lines += [NOTHING, wiring_table(pin_map)]
    return "\n".join(lines)


def _bus_text(bus: Bus, sensors: tuple[SensorInfo, ...]) -> str:
    found = [
        f"{info.chip} at 0x{info.address:02X} ({info.state})" for info in sensors if info.bus == bus.number
    ]
    return f"bus {bus.number}, SDA {bus.sda}, SCL {bus.scl}: {', '.join(found) or 'nothing answers'}"
