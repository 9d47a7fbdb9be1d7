"""ADXL345, from its data sheet (Analog Devices, revision G)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_DEVID, _BW_RATE, _POWER_CTL, _INT_SOURCE, _DATA_FORMAT, _DATA = 0x00, 0x2C, 0x2D, 0x30, 0x31, 0x32
_MEASURE, _FULL_RES, _JUSTIFY, _SELF_TEST, _DATA_READY = 0x08, 0x08, 0x04, 0x80, 0x80
_FASTEST_HZ = 3200.0
_SELF_TEST_G = (1.0, -1.0, 1.5)
"""Within the limits of the data sheet at 3.3 V."""


class Adxl345(Chip):
    """It stands by after power-on; data little-endian, right-justified unless JUSTIFY says otherwise."""

    ADDRESS = 0x53
    IDENTITY = (_DEVID, 0xE5)
    RESET: ClassVar[dict[int, int]] = {_BW_RATE: 0x0A, _INT_SOURCE: 0x02}
    WRITABLE = frozenset([*range(0x1D, 0x2B), _BW_RATE, _POWER_CTL, 0x2E, 0x2F, _DATA_FORMAT, 0x38])
    NOISE_UG = (290.0, 290.0, 430.0)

    def sampling(self) -> Sampling | None:
        registers = self._registers
        if not registers[_POWER_CTL] & _MEASURE:
            return None
        rate_hz = _FASTEST_HZ / 2 ** (15 - (registers[_BW_RATE] & 0x0F))
        setting = registers[_DATA_FORMAT]
        coarser = 1 if setting & _FULL_RES else 2 ** (setting & 3)
        return Sampling(
            rate_hz=rate_hz,
            filter_hz=rate_hz / 2,
            range_g=2.0 * 2 ** (setting & 3),
            counts_per_g=256.0 / coarser,
            self_test_g=_SELF_TEST_G if setting & _SELF_TEST else (0.0, 0.0, 0.0),
        )

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        setting = self._registers[_DATA_FORMAT]
        bits = 10 + (setting & 3 if setting & _FULL_RES else 0)
        shift = 16 - bits if setting & _JUSTIFY else 0
        struct.pack_into("<3h", self._registers, _DATA, *[count << shift for count in counts])
        self._registers[_INT_SOURCE] |= _DATA_READY

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 5 in registers:
            self._registers[_INT_SOURCE] &= ~_DATA_READY
