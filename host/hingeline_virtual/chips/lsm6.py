"""LSM6DS3, LSM6DS3TR-C, LSM6DSOX and LSM6DSO32, from their data sheets (STMicroelectronics; the last from memory)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_WHO_AM_I, _CTRL1_XL, _CTRL3_C, _CTRL5_C, _CTRL8_XL = 0x0F, 0x10, 0x12, 0x14, 0x17
_STATUS, _OUT_TEMP, _DATA = 0x1E, 0x20, 0x28
_IF_INC, _SW_RESET, _LPF2_XL_EN = 0x04, 0x01, 0x02
_NEW_XL, _NEW_TEMPERATURE = 0x01, 0x04

_RATE_HZ = dict(enumerate((12.5, 26.0, 52.0, 104.0, 208.0, 416.0, 833.0, 1666.0, 3332.0, 6664.0), start=1))
"""Output data rate by ODR_XL; 0 is power-down."""
_MG_PER_COUNT_AND_G = 0.0305
"""Sensitivity is 0.061 mg at ±2 g, and so on in proportion to the range."""
_SELF_TEST_G = 0.4
"""Within 90 to 1700 mg."""
_TEMPERATURE_ZERO_C = 25.0


class Lsm6ds3(Chip):
    """Powered down after power-on; little-endian; transactions count up unless IF_INC is cleared."""

    ADDRESS = 0x6A
    IDENTITY = (_WHO_AM_I, 0x69)
    RESET: ClassVar[dict[int, int]] = {_CTRL3_C: _IF_INC}
    WRITABLE = frozenset([*range(0x04, 0x0F), *range(0x10, 0x1A), *range(0x58, 0x60)])
    NOISE_UG = (90.0, 90.0, 90.0)
    DIGITS_PER_C: ClassVar[float] = 16.0
    RANGE_G: ClassVar[tuple[float, ...]] = (2.0, 16.0, 4.0, 8.0)

    def _address(self, register: int, offset: int) -> int:
        return (register + offset) % self.SIZE if self._registers[_CTRL3_C] & _IF_INC else register

    def sampling(self) -> Sampling | None:
        setting = self._registers[_CTRL1_XL]
        rate_hz = _RATE_HZ.get(setting >> 4)
        if rate_hz is None:
            return None
        range_g = self.RANGE_G[setting >> 2 & 3]
        forced = {1: _SELF_TEST_G, 2: -_SELF_TEST_G}.get(self._registers[_CTRL5_C] & 3, 0.0)
        return Sampling(
            rate_hz=rate_hz,
            filter_hz=self._filter_hz(rate_hz),
            range_g=range_g,
            counts_per_g=1000.0 / (_MG_PER_COUNT_AND_G * range_g),
            self_test_g=(forced, forced, forced),
        )

    def _filter_hz(self, rate_hz: float) -> float:
        """The anti-aliasing bandwidth, which the rate sets while BW_SCAL_ODR is 0."""
        return min(max(rate_hz // 2 // 50 * 50.0, 50.0), 400.0)

    def _written(self, register: int, value: int) -> None:
        if register == _CTRL3_C and value & _SW_RESET:
            self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        digits = round((temperature_c - _TEMPERATURE_ZERO_C) * self.DIGITS_PER_C)
        struct.pack_into("<h", self._registers, _OUT_TEMP, digits)
        struct.pack_into("<3h", self._registers, _DATA, *[min(max(c, -32768), 32767) for c in counts])
        self._registers[_STATUS] |= _NEW_XL | _NEW_TEMPERATURE

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 5 in registers:
            self._registers[_STATUS] &= ~_NEW_XL
        if _OUT_TEMP + 1 in registers:
            self._registers[_STATUS] &= ~_NEW_TEMPERATURE


class Lsm6ds3trc(Lsm6ds3):
    """The second LSM6DS3: digital low-pass at half the rate, a finer thermometer."""

    IDENTITY = (_WHO_AM_I, 0x6A)
    DIGITS_PER_C: ClassVar[float] = 256.0

    def _filter_hz(self, rate_hz: float) -> float:
        return rate_hz / 2


class Lsm6dsox(Lsm6ds3trc):
    """The quiet successor, whose second low-pass HPCF_XL sets."""

    IDENTITY = (_WHO_AM_I, 0x6C)
    RESET: ClassVar[dict[int, int]] = {_CTRL3_C: _IF_INC, 0x18: 0xE0}
    NOISE_UG = (70.0, 70.0, 70.0)
    LPF2_DIVISOR: ClassVar[tuple[int, ...]] = (4, 10, 20, 45, 100, 200, 400, 800)

    def _filter_hz(self, rate_hz: float) -> float:
        if self._registers[_CTRL1_XL] & _LPF2_XL_EN:
            return rate_hz / self.LPF2_DIVISOR[self._registers[_CTRL8_XL] >> 5]
        return rate_hz / 2


class Lsm6dso32(Lsm6dsox):
    """Its identity and registers, twice its ranges."""

    NOISE_UG = (120.0, 120.0, 120.0)
    RANGE_G: ClassVar[tuple[float, ...]] = (4.0, 32.0, 8.0, 16.0)
