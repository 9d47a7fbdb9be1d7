"""A Pico for rp2040py, loaded by it as a file: an MPU-6050 of the virtual bench lies level on its first bus."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from rp2040py.boards import BOARDS
from rp2040py.peripherals.i2c import R_TX_EMPTY, I2CMode
from rp2040py.rp2040 import RP2040

from hingeline_virtual.chips import CHIPS
from hingeline_virtual.chips.chip import Floats
from hingeline_virtual.scenario import Sensor

BUS = 0


class Level:
    """A table that does not move."""

    def force_g(self, sensor: str, time_s: float) -> Floats:
        return np.array([0.0, 0.0, 1.0])

    def temperature_c(self, sensor: str, time_s: float) -> float:
        return 25.0


class OnTheBus:
    """A chip at the emulated I2C controller: a write's first byte is the register, reads go on from there.

    All of a transaction happens at the time it starts, as a chip keeps its output still while it is read.
    """

    def __init__(self) -> None:
        self._truth = Sensor(name="one", chip="mpu6050")
        self._chip = CHIPS["mpu6050"](self._truth, Level(), 1)
        self._register = 0
        self._first = True
        self._time_s = 0.0

    def attach(self, rp2040: RP2040) -> None:
        bus = rp2040.i2c[BUS]

        def connect(address: int, mode: I2CMode) -> None:
            self._first, self._time_s = True, rp2040.clock.nanos / 1e9
            bus.complete_connect(address == self._truth.address)
            # The controller sets this as it flushes its queue (RP2040 datasheet, IC_RAW_INTR_STAT); rp2040py 0.3.6
            # does not, MicroPython waits in vain, and takes the abort for one of the next transaction.
            if address != self._truth.address:
                bus._set_interrupts(R_TX_EMPTY)

        def write(value: int) -> None:
            if self._first:
                self._register, self._first = value, False
            else:
                self._chip.write(self._register, bytes([value]), self._time_s)
                self._register = self._chip.next_register(self._register)
            bus.complete_write(True)

        def read(ack: bool) -> None:
            (value,) = self._chip.read(self._register, 1, self._time_s)
            self._register = self._chip.next_register(self._register)
            bus.complete_read(value)

        bus.on_connect, bus.on_write_byte, bus.on_read_byte = connect, write, read


PICO = replace(BOARDS["pico"], extras=(*BOARDS["pico"].extras, OnTheBus))
