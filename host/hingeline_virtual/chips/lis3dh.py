"""LIS3DH, from its datasheet (DocID17530) and application note AN3308."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling
from hingeline_virtual.chips.st_fifo import LEVELS, StFifo

_STATUS_AUX, _OUT_ADC3, _WHO_AM_I, _TEMP_CFG = 0x07, 0x0C, 0x0F, 0x1F
_CTRL1, _CTRL4, _CTRL5, _STATUS, _DATA, _FIFO_CTRL, _FIFO_SRC = 0x20, 0x23, 0x24, 0x27, 0x28, 0x2E, 0x2F
_FIFO_EN, _STREAM, _OVRN, _EMPTY = 0x40, 2, 0x40, 0x20
_AUTO_INCREMENT, _LOW_POWER, _HIGH_RESOLUTION, _BOOT, _TEMP_EN, _BDU = 0x80, 0x08, 0x08, 0x80, 0xC0, 0x80
_NEW_XYZ = 0x0F
_TEMPERATURE_ZERO_C = 25.0
_SELF_TEST_G = 0.4
"""Within 17 to 360 digits of 4 mg."""

_RATE_HZ = {1: 1.0, 2: 10.0, 3: 25.0, 4: 50.0, 5: 100.0, 6: 200.0, 7: 400.0, 8: 1600.0, 9: 1344.0}
"""Output data rate by the upper half of CTRL_REG1; 0 is power-down."""
_MG_PER_DIGIT = (1.0, 2.0, 4.0, 12.0)
"""At 12 bits, by FS; 10 bits are four, 8 bits sixteen times as coarse."""


class Lis3dh(Chip):
    """Powered down after power-on; a transaction counts up only if bit 7 of the register address is set."""

    ADDRESS = 0x18
    IDENTITY = (_WHO_AM_I, 0x33)
    RESET: ClassVar[dict[int, int]] = {_CTRL1: 0x07}
    WRITABLE = frozenset(
        [
            0x1E,
            _TEMP_CFG,
            *range(0x20, 0x27),
            0x2E,
            0x30,
            *range(0x32, 0x35),
            *range(0x36, 0x39),
            *range(0x3A, 0x40),
        ]
    )
    NOISE_UG = (220.0, 220.0, 220.0)

    def power_on(self) -> None:
        super().power_on()
        self._fifo = StFifo()

    def fifo_samples(self) -> int:
        registers = self._registers
        streams = registers[_CTRL5] & _FIFO_EN and registers[_FIFO_CTRL] >> 6 == _STREAM
        return LEVELS + 1 if streams else 0

    def read(self, register: int, length: int, time_s: float) -> bytes:
        if not self.fifo_samples() or register != _DATA | _AUTO_INCREMENT:
            return super().read(register, length, time_s)
        self.measure_until(time_s)
        taken = self._fifo.take(length)
        self._count()
        return taken

    def _count(self) -> None:
        flags = _OVRN * self._fifo.overrun | _EMPTY * (not self._fifo)
        self._registers[_FIFO_SRC] = flags | min(len(self._fifo), LEVELS - 1)

    def _address(self, register: int, offset: int) -> int:
        first = register & 0x7F
        return (first + offset) % self.SIZE if register & _AUTO_INCREMENT else first

    def _bits(self) -> int:
        if self._registers[_CTRL1] & _LOW_POWER:
            return 8
        return 12 if self._registers[_CTRL4] & _HIGH_RESOLUTION else 10

    def sampling(self) -> Sampling | None:
        rate_hz = _RATE_HZ.get(self._registers[_CTRL1] >> 4)
        if rate_hz is None:
            return None
        full_scale = self._registers[_CTRL4] >> 4 & 3
        bits = self._bits()
        forced = {1: _SELF_TEST_G, 2: -_SELF_TEST_G}.get(self._registers[_CTRL4] >> 1 & 3, 0.0)
        counts_per_g = 1000.0 / (_MG_PER_DIGIT[full_scale] * 2 ** (12 - bits))
        return Sampling(
            rate_hz=rate_hz,
            filter_hz=rate_hz / (9 if bits == 12 else 2),
            range_g=2 ** (bits - 1) / counts_per_g,
            counts_per_g=counts_per_g,
            self_test_g=(forced, forced, forced),
        )

    def _written(self, register: int, value: int) -> None:
        if register == _CTRL5 and value & _BOOT:
            self._registers[_CTRL5] &= ~_BOOT
        if register == _FIFO_CTRL and value >> 6 != _STREAM:  # bypass empties it
            self._fifo.clear()
            self._count()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        spare = 16 - self._bits()
        enabled = self._registers[_CTRL1]
        justified = [(counts[axis] << spare) * (enabled >> axis & 1) for axis in range(3)]
        struct.pack_into("<3h", self._registers, _DATA, *justified)
        if self.fifo_samples():
            self._fifo.add(justified)
            self._count()
        self._registers[_STATUS] |= _NEW_XYZ
        if self._registers[_TEMP_CFG] & _TEMP_EN == _TEMP_EN and self._registers[_CTRL4] & _BDU:
            digits = min(max(round(temperature_c - _TEMPERATURE_ZERO_C), -128), 127)
            struct.pack_into("<h", self._registers, _OUT_ADC3, digits << 8)
            self._registers[_STATUS_AUX] |= 0x04

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 5 in registers:
            self._registers[_STATUS] = 0
