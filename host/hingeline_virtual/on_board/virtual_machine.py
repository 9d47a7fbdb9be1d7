# mypy: ignore-errors
"""The `machine` of a virtual board."""

import os
import sys
from binascii import unhexlify

import transactions

from hingeline_firmware import pins

_ETIMEDOUT = 110
_TRANSACTION_COST_US = 60
_LEVEL_COST_US = 2
_CLOCKS = 9
_levels = {}
_clocks = {}
_BOARD = os.getenv("HINGELINE_PINS")
_PIN_MAP = pins.find(_BOARD) or {"buses": (), "spi": ()}
_BUSES = _PIN_MAP["buses"]
_CONTROLLERS = {"esp32_c3": 1, "esp32_c3_supermini": 1, "xiao_esp32c3": 1, "esp32_c6": 1}.get(_BOARD, 2)
"""I2C controllers of the microcontroller: ESP32-C3 and ESP32-C6 datasheets, and those of the others (from memory)."""

PWRON_RESET, HARD_RESET, WDT_RESET = transactions.POWER_ON, transactions.RESET, transactions.WATCHDOG


class Pin:
    """A pin that serves a bus, known by its number: clocks and a STOP end a transfer that a chip is in."""

    OPEN_DRAIN, PULL_UP, OUT = 2, 1, 3

    def __init__(self, number, *_, value=None):
        self.number = number
        if value is not None:
            _levels[number] = value

    def value(self, level=None):
        """Set the level, or read it: low where this pin or a chip drives it low."""
        transactions.spend(_LEVEL_COST_US)
        (bus, line, scl), before = self._bus(), _levels.get(self.number, 1)
        if level is None:
            return int(before and not (line == "sda" and transactions.holds(bus)))
        _levels[self.number] = level
        if line == "scl" and before and not level:
            _clocks[bus] = _clocks.get(bus, 0) + 1
        stops = line == "sda" and level and not before and _levels.get(scl, 1)
        if stops and _clocks.pop(bus, 0) >= _CLOCKS:
            transactions.free(bus)
        return None

    def _bus(self):
        for bus in _BUSES:
            for line in ("scl", "sda"):
                if bus[line] == self.number:
                    return bus["id"], line, bus["scl"]
        return None, None, None


class I2C:
    """A bus of the virtual bench, known by its number. If it hangs that costs `timeout` µs, as on the real ports."""

    def __init__(self, bus, scl=None, sda=None, freq=400000, timeout=50000):
        if bus >= _CONTROLLERS:
            raise ValueError("no such I2C")
        self._connect(bus, freq, timeout)

    def _connect(self, bus, freq, timeout):
        self._bus = bus
        self._byte_us = 9000000 // freq + 1
        self._timeout_us = timeout

    def readfrom_mem_into(self, address, register, buffer):
        """Fill `buffer` from the chip's registers."""
        transactions.spend(_TRANSACTION_COST_US + (len(buffer) + 3) * self._byte_us)
        try:
            transactions.read(self._bus, address, register, buffer)
        except OSError as error:
            self._failed(error)

    def writeto_mem(self, address, register, data):
        """Write `data` to the chip's registers."""
        transactions.spend(_TRANSACTION_COST_US + (len(data) + 2) * self._byte_us)
        try:
            transactions.write(self._bus, address, register, data)
        except OSError as error:
            self._failed(error)

    def _failed(self, error):
        if error.errno == _ETIMEDOUT:
            transactions.spend(self._timeout_us)
        raise error


class SoftI2C(I2C):
    """A bus that software runs, known by its pins: the pin map has its number."""

    def __init__(self, scl, sda, freq=400000, timeout=50000):
        own = [scl.number, sda.number]
        (number,) = [bus["id"] for bus in _BUSES if [bus["scl"], bus["sda"]] == own]
        self._connect(number, freq, timeout)


class SoftSPI:
    """SPI buses with the same SCK: a frame goes to the chip whose CS is low. Without one the line is high."""

    def __init__(self, baudrate, *, polarity, phase, sck, mosi, miso):
        own = {"sck": sck.number, "mosi": mosi.number, "miso": miso.number}
        self._rows = [row for row in _PIN_MAP["spi"] if {line: row[line] for line in own} == own]
        self._byte_us = 8000000 // baudrate

    def write_readinto(self, sent, received):
        """Send a frame while one is received."""
        transactions.spend(_TRANSACTION_COST_US + len(sent) * self._byte_us)
        try:
            (bus,) = [row["id"] for row in self._rows if not _levels.get(row["cs"], 1)]
            transactions.exchange(bus, sent, received)
        except OSError:
            received[:] = b"\xff" * len(received)


class WDT:
    """A watchdog, run by the bench: nothing can stop it, and it restarts a program that hangs."""

    def __init__(self, id=0, timeout=5000):
        self._timeout_ms = timeout
        self.feed()

    def feed(self):
        """Put the restart off for `timeout` ms."""
        transactions.feed(self._timeout_ms)


def unique_id():
    """The id that the scenario gives this board."""
    return unhexlify(os.getenv("HINGELINE_UID"))


def reset_cause():
    """Why this board has started."""
    return int(os.getenv("HINGELINE_RESET_CAUSE"))


def reset():
    """Start again, as after power-on."""
    sys.exit(transactions.RESET_STATUS)
