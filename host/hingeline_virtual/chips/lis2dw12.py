"""LIS2DW12, from its data sheet (STMicroelectronics; read from memory)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling
from hingeline_virtual.chips.st_fifo import LEVELS, StFifo

_OUT_T_L, _WHO_AM_I, _CTRL1, _CTRL2, _CTRL3, _CTRL6, _OUT_T = 0x0D, 0x0F, 0x20, 0x21, 0x22, 0x25, 0x26
_STATUS, _DATA, _FIFO_CTRL, _FIFO_SAMPLES = 0x27, 0x28, 0x2E, 0x2F
_CONTINUOUS, _OVR = 6, 0x40
_SOFT_RESET, _IF_ADD_INC, _DRDY = 0x40, 0x04, 0x01

_RATE_HZ = {1: 12.5, 2: 12.5, 3: 25.0, 4: 50.0, 5: 100.0, 6: 200.0, 7: 400.0, 8: 800.0, 9: 1600.0}
"""Output data rate by the upper half of CTRL1 in high-performance mode; 0 is power-down."""
_FILTER_DIVISOR = (2, 4, 10, 20)
_HIGH_PERFORMANCE = 0x04
_MODE = 0x0C
_MG_PER_DIGIT_AND_G = 0.122
"""Of 14 bits: 0.244 mg at ±2 g, in proportion to the range."""
_SELF_TEST_G = 0.5
"""Within 70 to 1500 mg."""


class Lis2dw12(Chip):
    """Powered down after power-on; 14 bits left-justified, little-endian; it counts up unless told otherwise."""

    ADDRESS = 0x18
    IDENTITY = (_WHO_AM_I, 0x44)
    RESET: ClassVar[dict[int, int]] = {_CTRL2: _IF_ADD_INC}
    WRITABLE = frozenset([*range(0x20, 0x26), 0x2E, *range(0x30, 0x37), *range(0x3C, 0x40)])
    NOISE_UG = (90.0, 90.0, 90.0)

    def power_on(self) -> None:
        super().power_on()
        self._fifo = StFifo()

    def fifo_samples(self) -> int:
        return LEVELS + 1 if self._registers[_FIFO_CTRL] >> 5 == _CONTINUOUS else 0

    def read(self, register: int, length: int, time_s: float) -> bytes:
        if not self.fifo_samples() or register != _DATA:
            return super().read(register, length, time_s)
        self.measure_until(time_s)
        taken = self._fifo.take(length)
        self._count()
        return taken

    def _count(self) -> None:
        self._registers[_FIFO_SAMPLES] = _OVR * self._fifo.overrun | len(self._fifo)

    def _address(self, register: int, offset: int) -> int:
        return (register + offset) % self.SIZE if self._registers[_CTRL2] & _IF_ADD_INC else register

    def sampling(self) -> Sampling | None:
        rate_hz = _RATE_HZ.get(self._registers[_CTRL1] >> 4)
        if rate_hz is None or self._registers[_CTRL1] & _MODE != _HIGH_PERFORMANCE:
            return None
        range_g = 2.0 * 2 ** (self._registers[_CTRL6] >> 4 & 3)
        forced = {1: _SELF_TEST_G, 2: -_SELF_TEST_G}.get(self._registers[_CTRL3] >> 6, 0.0)
        return Sampling(
            rate_hz=rate_hz,
            filter_hz=rate_hz / _FILTER_DIVISOR[self._registers[_CTRL6] >> 6],
            range_g=range_g,
            counts_per_g=1000.0 / (_MG_PER_DIGIT_AND_G * range_g),
            self_test_g=(forced, forced, forced),
        )

    def _written(self, register: int, value: int) -> None:
        if register == _CTRL2 and value & _SOFT_RESET:
            self.power_on()
        elif register == _FIFO_CTRL and value >> 5 != _CONTINUOUS:  # bypass empties it
            self._fifo.clear()
            self._count()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        justified = [min(max(count, -8192), 8191) << 2 for count in counts]
        struct.pack_into("<3h", self._registers, _DATA, *justified)
        if self.fifo_samples():
            self._fifo.add(justified)
            self._count()
        digits = min(max(round((temperature_c - 25.0) * 16), -2048), 2047)
        struct.pack_into("<h", self._registers, _OUT_T_L, digits << 4)
        self._registers[_OUT_T] = (digits >> 4) & 0xFF
        self._registers[_STATUS] |= _DRDY

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 5 in registers:
            self._registers[_STATUS] &= ~_DRDY
