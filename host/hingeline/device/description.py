"""A board in words and fields, the same in every command that speaks of one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any, NamedTuple

from hingeline.device.install.pin_maps import Bus, PinMap, pin_maps
from hingeline.device.link.board import BoardLink
from hingeline.device.samples import SensorInfo
from hingeline.units import aligned


class State(NamedTuple):
    """What the state of a sensor means, and what to do where it is not `ok`."""

    words: str
    cure: str


STATES = {
    "ok": State("answers", ""),
    "absent": State("does not answer", "Check its four wires and its solder joints; then try another module"),
    "identity": State("answers as a chip that is not known", "It is a clone or another chip: try another module"),
    "setup": State(
        "does not keep what is written to it", "Shorten its leads and check its supply; then another module"
    ),
}
NO_SENSOR = (
    "No sensor answers. Pull the USB cable, then check each wire against this table, and that every pin is soldered "
    "and not just plugged. A chip heated by reversed supply stays silent for good: try the other module."
)
NO_PIN_MAP = "Choose the pin map of a board with the same microcontroller and pins: `hingeline install --board NAME`"


def board_name(link: BoardLink) -> str:
    """Name a board by its kind, and by its own name where it has one."""
    return f'{link.board.board} "{link.decoder.about.name}"' if link.decoder.about.name else str(link.board.board)


def board_line(link: BoardLink) -> str:
    """Tell which board it is, where, and what runs on it."""
    board = link.board
    return f"{board_name(link)} at {link.port}, uid {board.uid}, firmware {board.firmware}, protocol {board.protocol}"


def sensor_place(info: SensorInfo) -> str:
    """Tell which chip is where."""
    return f"{info.chip} on bus {info.bus} at 0x{info.address:02X}"


def sensor_line(info: SensorInfo) -> str:
    """Tell which chip is where, and whether it answers as it should."""
    return f"{sensor_place(info)} {STATES[info.state].words}"


def board_fields(link: BoardLink) -> dict[str, Any]:
    """Give a board the form that JSON takes."""
    return {
        "port": link.port,
        "board": link.board.board,
        "name": link.decoder.about.name,
        "watchdog": link.decoder.about.watchdog,
        "uid": link.board.uid,
        "firmware": link.board.firmware,
        "protocol": link.board.protocol,
        "sensors": [asdict(info) for info in link.sensors],
    }


def complaints(link: BoardLink, info: SensorInfo | None = None) -> list[str]:
    """List what a board complains of: of one sensor, or of none of those that it has."""
    sensors = link.sensors if info is None else (info,)
    places = tuple(f"bus {sensor.bus} address 0x{sensor.address:02X}" for sensor in sensors)
    return [notice for notice in link.decoder.notices if notice.startswith(places) == (info is not None)]


def wiring_table(pin_map: PinMap) -> str:
    """Tell which pin of a module goes to which pin of the board, a column for each bus."""
    supply, second = pin_map.supply, "GND (second module: 3V3)"
    pins = ("module", "VCC, VIN or VDD", "GND", "SDA", "SCL", "CS, if it has one", "AD0, SDO, SA0 or ASEL")
    wires = [(f"bus {bus.number}", supply, pin_map.ground, bus.sda, bus.scl, supply, second) for bus in pin_map.buses]
    return "\n".join([pin_map.title, *aligned(zip(pins, *wires, strict=True))])


def wired_text(link: BoardLink, buses: Sequence[Mapping[str, int]] | None) -> str:
    """Tell what answers on each bus of a board, with the wiring table where nothing does.

    `buses` are those of the board's configuration (id, sda, scl by GPIO), None where it goes by its pin map.
    """
    lines = [board_line(link), *(f"  {notice}" for notice in link.decoder.notices)]
    pin_map = pin_maps().get(link.board.board)
    if pin_map is None:
        return "\n".join([*lines, f"{NO_PIN_MAP}. Pin maps: {', '.join(pin_maps())}"])
    if buses:
        configured = (Bus(bus["id"], f"GPIO {bus['sda']}", f"GPIO {bus['scl']}") for bus in buses)
        pin_map = pin_map._replace(buses=tuple(configured))
    for bus in pin_map.buses:
        lines.append(f"  bus {bus.number}, SDA {bus.sda}, SCL {bus.scl}:")
        wired = [f"    {sensor_line(info)}" for info in link.sensors if info.bus == bus.number]
        lines += wired or ["    nothing answers"]
    if not link.sensors:
        lines += [NO_SENSOR, wiring_table(pin_map)]
    return "\n".join(lines)


def board_text(link: BoardLink, days: Mapping[str, str | None]) -> str:
    """Describe a board and its sensors; `days` has, by sensor id, when each was calibrated."""
    lines = [board_line(link)]
    for info in link.sensors:
        day = days[info.sensor_id]
        lines += [
            f"  {info.sensor_id}  {sensor_line(info)}, {f'calibrated {day}' if day else 'not calibrated'}",
            f"    {info.counts_per_g} counts/g, {info.rate_hz} Hz, filter {info.filter_hz} Hz",
        ]
    if not any(info.state == "ok" for info in link.sensors):
        lines.append("  no sensor answers as it should: `hingeline doctor`")
    return "\n".join(lines)
