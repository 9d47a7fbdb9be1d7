"""How this board is configured: `config` in the store, a JSON object. All keys may be left out.

name       what its owner calls it: up to 32 printable ASCII characters
board      name of a pin map, where MicroPython's name of the board does not decide it
buses      [{"id": 0, "sda": 4, "scl": 5}, ...], in place of the pin map's; no id and no pin twice, no kept pin
bus_hz     [{"id": 0, "hz": 400000}, ...]: how fast buses are that are not to be slow, from 10000 to 400000
spi        true: the pin map's SPI buses are used too
sensors    [{"chip": "mpu6050", "bus": 0, "address": 104}, ...], at most four, none at the place of another: only these
           are looked for, and reported when absent
lines_hz   sample lines a second of each sensor
readings   readings summed in a line
watchdog   true: a program that hangs while it streams restarts the board; see watchdog.py for what that costs
"""

import json

from hingeline_firmware import chips, pins, store
from hingeline_protocol.messages import NAME_LIMIT

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

FILE = "config"
DEFAULTS = {
    "name": "",
    "board": None,
    "buses": None,
    "bus_hz": None,
    "spi": False,
    "sensors": None,
    "lines_hz": 50,
    "readings": 4,
    "watchdog": False,
}
SENSORS_LIMIT = 4
SLOWEST_HZ, FASTEST_HZ = 10000, 400000
_LIMITS = {"hz": 1 << 30}
READINGS_HZ_LIMIT = 200
"""The slowest chip's rate: reading faster finds no new measurements."""


class ConfigError(Exception):
    """The configuration asks for what this board cannot do."""


def load():
    """Read the configuration, defaults filled in.

    Raises
    ------
    ConfigError, store.StoreError
        It is damaged, or asks for what no board can do.
    """
    return complete(_load_values())


def change(changes):
    """Store these values, None for a default; the others stay, unless the stored ones cannot be read.

    Raises
    ------
    ConfigError, store.StoreError
        They ask for what no board can do, and nothing is changed; they do not read back.
    """
    try:
        values = _load_values()
    except (ConfigError, store.StoreError):  # reported at every start; nothing of it can be kept
        values = {}
    values.update(changes)
    values = {key: values[key] for key in values if values[key] is not None}
    config = complete(values)
    _check_places(config)
    values = {key: config[key] for key in config if config[key] != DEFAULTS[key]}
    store.save(FILE, json.dumps(values).encode())


def complete(values):
    """Fill in the defaults; raises ConfigError for values that no board can have."""
    for key in values:
        if key not in DEFAULTS:
            raise ConfigError("%s: expected one of %s" % (key, " ".join(sorted(DEFAULTS))))
    config: "dict[str, Any]" = dict(DEFAULTS)
    config.update(values)
    name = config["name"]
    if not (isinstance(name, str) and len(name) <= NAME_LIMIT and all(" " <= letter <= "~" for letter in name)):
        raise ConfigError("name: expected a text of at most %d printable ASCII characters" % NAME_LIMIT)
    for key in ("watchdog", "spi"):
        if not isinstance(config[key], bool):
            raise ConfigError("%s: expected true or false" % key)
    if not isinstance(config["board"], (str, type(None))):
        raise ConfigError("board: expected a text")
    _check_rows(config, "buses", ("id", "scl", "sda"))
    _check_rows(config, "sensors", ("chip", "bus", "address"))
    _check_rows(config, "bus_hz", ("id", "hz"))
    _check_once("bus_hz: id", [row["id"] for row in config["bus_hz"] or ()])
    for row in config["bus_hz"] or ():
        if not SLOWEST_HZ <= row["hz"] <= FASTEST_HZ:
            raise ConfigError("bus_hz: %d, expected %d to %d" % (row["hz"], SLOWEST_HZ, FASTEST_HZ))
    _check_buses(config)
    _check_sensors(config["sensors"] or ())
    for key in ("lines_hz", "readings"):
        if not isinstance(config[key], int):
            raise ConfigError("%s: expected a whole number" % key)
    check_rate(config["lines_hz"], config["readings"])
    return config


def check_rate(lines_hz, readings):
    """Refuse a rate that no chip keeps.

    Raises
    ------
    ConfigError
        Something is less than 1, or readings would be faster than the slowest chip measures.
    """
    if lines_hz < 1 or readings < 1 or lines_hz * readings > READINGS_HZ_LIMIT:
        text = "%d lines/s of %d readings: expected at least 1 each, at most %d readings/s"
        raise ConfigError(text % (lines_hz, readings, READINGS_HZ_LIMIT))


def _load_values():
    content = store.load(FILE)
    if content is None:
        return {}
    try:
        values = json.loads(content)
    except (ValueError, RuntimeError) as error:  # the latter where it is nested too deeply
        raise ConfigError("not JSON") from error
    if not isinstance(values, dict):
        raise ConfigError("expected an object")
    return values


def _check_rows(config, key, columns):
    rows = config[key]
    if rows is None:
        return
    if not isinstance(rows, list):
        raise ConfigError("%s: expected a list" % key)
    for row in rows:
        if not isinstance(row, dict) or set(row) != set(columns):
            raise ConfigError("%s: expected %s in each" % (key, ", ".join(columns)))
        for column in columns:
            if column != "chip" and not (isinstance(row[column], int) and 0 <= row[column] < _LIMITS.get(column, 128)):
                raise ConfigError("%s: %s: expected a whole number from 0 to 127" % (key, column))


def _check_buses(config):
    buses = config["buses"] or ()
    ids = [bus["id"] for bus in buses]
    gpios = [bus[line] for bus in buses for line in ("sda", "scl")]
    _check_once("buses: id", ids)
    _check_once("buses: pin", gpios)
    pin_map = pins.find(config["board"]) if buses else None
    spi = pin_map["spi"] if pin_map and config["spi"] else ()
    _check_once("buses and spi: id", ids + [row["id"] for row in spi])
    taken = [("SPI", [row[line] for line in ("sck", "mosi", "miso", "cs")]) for row in spi]
    for served, kept in list(pin_map["kept"].items()) + taken if pin_map else ():
        for gpio in kept:
            if gpio in gpios:
                raise ConfigError("buses: pin %d serves the %s, expected another" % (gpio, served))


def _check_sensors(sensors):
    names = [row["name"] for row in chips.rows()] if sensors else []
    for sensor in sensors:
        if sensor["chip"] not in names:
            raise ConfigError("chip %s: expected one of %s" % (sensor["chip"], " ".join(sorted(names))))
    if len(sensors) > SENSORS_LIMIT:
        raise ConfigError("sensors: %d, expected at most %d" % (len(sensors), SENSORS_LIMIT))
    _check_once("sensors: bus and address", [(sensor["bus"], sensor["address"]) for sensor in sensors])


def _check_places(config):
    """Refuse sensors on buses or at addresses where they cannot be."""
    sensors = config["sensors"] or ()
    pin_map = pins.find(config["board"]) if sensors else None
    buses = config["buses"] or (pin_map["buses"] if pin_map else ())
    spi = pin_map["spi"] if pin_map and config["spi"] else ()
    numbers = {"i2c": [bus["id"] for bus in buses], "spi": [bus["id"] for bus in spi]}
    for sensor in sensors:
        row: "Any" = chips.find(sensor["chip"])
        expected = numbers[row["wire"]]
        if (numbers["i2c"] or row["wire"] == "spi") and sensor["bus"] not in expected:
            raise ConfigError("sensors: no bus %d for %s, expected one of %s" % (sensor["bus"], row["name"], expected))
        addresses = row["addresses"]
        if sensor["address"] not in addresses:
            text = "sensors: %s has no address 0x%02X, expected %s"
            named = " or ".join("0x%02X" % address for address in addresses)
            raise ConfigError(text % (sensor["chip"], sensor["address"], named))


def _check_once(title, values):
    for value in values:
        if values.count(value) > 1:
            raise ConfigError("%s %s: expected once" % (title, value))
