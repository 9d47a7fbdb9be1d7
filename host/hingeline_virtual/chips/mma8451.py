"""MMA8451, from its data sheet (NXP MMA8451Q; read from memory)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_STATUS, _DATA, _WHO_AM_I, _XYZ_DATA_CFG, _CTRL1, _CTRL2 = 0x00, 0x01, 0x0D, 0x0E, 0x2A, 0x2B
_ACTIVE, _RST, _ST, _NEW_XYZ = 0x01, 0x40, 0x80, 0x0F
_RATE_HZ = (800.0, 400.0, 200.0, 100.0, 50.0, 12.5, 6.25, 1.5625)
_FILTER_DIVISOR = 3
_SELF_TEST_G = (44 / 2048, 61 / 2048, 392 / 2048)
"""Typical change in digits at ±4 g."""


class Mma8451(Chip):
    """It stands by after power-on and keeps most settings only there; 14 bits left-justified, big-endian."""

    ADDRESS = 0x1D
    IDENTITY = (_WHO_AM_I, 0x1A)
    RESET: ClassVar[dict[int, int]] = {}
    WRITABLE = frozenset([0x09, 0x0A, _XYZ_DATA_CFG, 0x0F, *range(0x11, 0x16), *range(0x17, 0x19), *range(0x1D, 0x32)])
    NOISE_UG = (99.0, 99.0, 99.0)

    def write(self, register: int, data: bytes, time_s: float) -> None:
        active = bool(self._registers[_CTRL1] & _ACTIVE)
        if active and register != _CTRL1 and not (register == _CTRL2 and data[0] & _RST):
            return
        super().write(register, data, time_s)

    def sampling(self) -> Sampling | None:
        control = self._registers[_CTRL1]
        if not control & _ACTIVE:
            return None
        rate_hz = _RATE_HZ[control >> 3 & 7]
        range_g = 2.0 * 2 ** (self._registers[_XYZ_DATA_CFG] & 3)
        forced = bool(self._registers[_CTRL2] & _ST)
        x, y, z = (force * forced for force in _SELF_TEST_G)
        return Sampling(rate_hz, rate_hz / _FILTER_DIVISOR, range_g, 8192.0 / range_g, (x, y, z))

    def _written(self, register: int, value: int) -> None:
        if register == _CTRL2 and value & _RST:
            self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        justified = [min(max(count, -8192), 8191) << 2 for count in counts]
        struct.pack_into(">3h", self._registers, _DATA, *justified)
        self._registers[_STATUS] |= _NEW_XYZ

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 5 in registers:
            self._registers[_STATUS] = 0
