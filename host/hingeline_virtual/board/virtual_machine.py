# mypy: ignore-errors
"""What the firmware imports as `machine` on a virtual board."""

import os
import sys
from binascii import unhexlify

import wire

from hingeline_firmware import pins

_ETIMEDOUT = 110
_TRANSACTION_COST_US = 60
_BOARD = os.getenv("HINGELINE_PINS")
_CONTROLLERS = {"esp32_c3": 1}.get(_BOARD, 2)
"""How many for I2C the microcontroller has: Espressif's ESP32-C3 datasheet, and those of the others (from memory)."""

PWRON_RESET, HARD_RESET, WDT_RESET = wire.POWER_ON, wire.RESET, wire.WATCHDOG


class Pin:
    """A pin's number; nothing hangs on it but a bus."""

    def __init__(self, number, *_, **__):
        self.number = number


class I2C:
    """A bus of the virtual bench, told by its number; one that hangs costs `timeout` µs, as on the real ports."""

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
        wire.spend(_TRANSACTION_COST_US + (len(buffer) + 3) * self._byte_us)
        try:
            wire.read(self._bus, address, register, buffer)
        except OSError as error:
            self._failed(error)

    def writeto_mem(self, address, register, data):
        """Write `data` to the chip's registers."""
        wire.spend(_TRANSACTION_COST_US + (len(data) + 2) * self._byte_us)
        try:
            wire.write(self._bus, address, register, data)
        except OSError as error:
            self._failed(error)

    def _failed(self, error):
        if error.errno == _ETIMEDOUT:
            wire.spend(self._timeout_us)
        raise error


class SoftI2C(I2C):
    """A bus that software runs: told by its pins, of which the pin map knows the number."""

    def __init__(self, scl, sda, freq=400000, timeout=50000):
        told = [scl.number, sda.number]
        (number,) = [bus["id"] for bus in pins.find(_BOARD)["buses"] if [bus["scl"], bus["sda"]] == told]
        self._connect(number, freq, timeout)


class WDT:
    """A watchdog, which the bench keeps: it can't be stopped, and bites a program that hangs."""

    def __init__(self, id=0, timeout=5000):
        self._timeout_ms = timeout
        self.feed()

    def feed(self):
        """Be quiet for another `timeout` ms."""
        wire.feed(self._timeout_ms)


def unique_id():
    """The id that the scenario gives this board."""
    return unhexlify(os.getenv("HINGELINE_UID"))


def reset_cause():
    """Why this board has started."""
    return int(os.getenv("HINGELINE_RESET_CAUSE"))


def reset():
    """Start again, as after power-on."""
    sys.exit(wire.RESET_STATUS)
