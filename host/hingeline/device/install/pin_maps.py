"""The boards that hingeline knows: which pins their buses are on, and where these sit. One JSON file a board.

`firmware/hingeline_firmware/pinmaps/NAME.json` is read by the drawings, by `hingeline install`, and in short form by
the board itself:

machines     how MicroPython's images for it call the board, before `with`; none if it runs a generic image
controllers  I2C controllers of the microcontroller; software runs buses with higher numbers
buses        its default ones, the connector's among them where it has one for sensors
spi          buses for one SPI chip each, used if the configuration says so; software runs them, on any pins
kept         GPIO that serve the board itself: a bus there would cut off the cable or stop the program
led          its pin and the level that lights it, null where it has none that a program can switch
rows         its pins as seen from above, `usb` where the USB connector is: LABEL, LABEL=GPIO or LABEL=NET
sources      where all this was read
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any, NamedTuple

ON_BOARD = ("name", "controllers", "buses", "spi", "kept", "led")
"""What the firmware needs of a pin map; the machines come first, so that their line is found by its text."""
_NETS = ("3V3", "GND")


class Pin(NamedTuple):
    """A pin of a board: what is printed beside it, where it sits, and its GPIO or the supply net that it is on."""

    label: str
    at: str
    side: str
    gpio: int | None = None
    net: str | None = None


class Bus(NamedTuple):
    """An I2C bus and the labels of its pins on the board."""

    number: int
    sda: str
    scl: str


class PinMap(NamedTuple):
    """A board: its buses, the labels of its supply and ground, and all its pins in the order of its rows.

    `lines` has number, SDA and SCL of each bus as GPIO, `spi` the rows of the SPI buses, `kept` the GPIO that serve the
    board itself.
    """

    name: str
    title: str
    buses: tuple[Bus, ...]
    supply: str
    ground: str
    lines: tuple[tuple[int, int, int], ...]
    spi: tuple[dict[str, int], ...]
    kept: dict[str, tuple[int, ...]]
    usb: str
    pins: tuple[Pin, ...]


@cache
def pin_maps() -> dict[str, PinMap]:
    """Read every pin map, by name."""
    return {row["name"]: read_pin_map(row) for row in _read_all()}


def board_table() -> bytes:
    """Make the file in which a board looks itself up: a line a board, its machines as `machine_key` has them."""
    rows = (
        {"machines": [machine_key(name) for name in row["machines"]]} | {key: row[key] for key in ON_BOARD}
        for row in _read_all()
    )
    return make_table(rows)


def make_table(rows: Iterable[Mapping[str, Any]]) -> bytes:
    """Make a file in which a board finds a row by its text: a line of JSON each, without blanks."""
    return b"".join(json.dumps(row, separators=(",", ":")).encode() + b"\n" for row in rows)


def machine_key(name: str) -> str:
    """Reduce the name of a board to what its spellings have in common."""
    return name.lower().replace(" ", "").replace("-", "").replace("_", "")


def read_pin_map(row: dict[str, Any]) -> PinMap:
    """Read a pin map of its JSON object."""
    lines = tuple((bus["id"], bus["sda"], bus["scl"]) for bus in row["buses"])
    pins = tuple(pin for part in row["rows"] for pin in _read_row(part))
    by_gpio = {pin.gpio: _label(pin) for pin in pins}
    return PinMap(
        name=row["name"],
        title=row["title"],
        buses=tuple(Bus(number, by_gpio[sda], by_gpio[scl]) for number, sda, scl in lines),
        supply=_label(find_power(pins, lines[0][1], "3V3")),
        ground=_label(find_power(pins, lines[0][1], "GND")),
        lines=lines,
        spi=tuple(row["spi"]),
        kept={served: tuple(gpios) for served, gpios in row["kept"].items()},
        usb=row["usb"],
        pins=pins,
    )


def find_power(pins: tuple[Pin, ...], gpio: int, net: str) -> Pin:
    """Find the pin of a supply net: of several the one nearest to that of a GPIO, in its row if one is there."""
    at = next(i for i, pin in enumerate(pins) if pin.gpio == gpio)
    places = [i for i, pin in enumerate(pins) if pin.net == net]
    return pins[min(places, key=lambda i: (pins[i].side != pins[at].side, abs(i - at)))]


def _label(pin: Pin) -> str:
    return f"{pin.label} (pin {pin.at})"


def _read_row(row: dict[str, Any]) -> list[Pin]:
    """Read a row of pins. The place of a pin is its number on the board, or its rank in the row."""
    pins = []
    for i, entry in enumerate(row["pins"].split()):
        label, _, meaning = entry.partition("=")
        meaning = meaning or (label if label in _NETS else "")
        gpio, net = (int(meaning), None) if meaning.isdigit() else (None, meaning or None)
        pins.append(Pin(label, f"{row['prefix']}{row['first'] + i * row['step']}", row["side"], gpio, net))
    return pins


def _read_all() -> list[dict[str, Any]]:
    folder = files("hingeline_firmware").joinpath("pinmaps")
    rows = [json.loads(entry.read_text()) for entry in folder.iterdir()]
    return sorted(rows, key=lambda row: str(row["name"]))
