"""BMI160 and BMA400, from their data sheets (Bosch Sensortec; read from memory)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_CHIP_ID, _CMD, _SOFT_RESET = 0x00, 0x7E, 0xB6


class Bmi160(Chip):
    """Suspended after power-on until commanded; 16 bits, little-endian."""

    _PMU_STATUS, _DATA, _STATUS, _TEMPERATURE, _CONF, _RANGE, _SELF_TEST = 0x03, 0x12, 0x1B, 0x20, 0x40, 0x41, 0x6D
    _DRDY, _ACC_NORMAL, _START_ACC = 0x80, 0x10, 0x11
    _RANGES_G: ClassVar[dict[int, float]] = {0x03: 2.0, 0x05: 4.0, 0x08: 8.0, 0x0C: 16.0}
    _BANDWIDTH: ClassVar[tuple[float, ...]] = (0.0948, 0.1873, 0.4)
    """Of the rate, by acc_bwp: four times oversampled, twice, normal; 18.96, 37.46 and 80 Hz at 200 Hz."""
    _RESPONSE_G = (0.6, 0.6, 0.4)
    """Each way; the difference of both ways is at least 0.8, 0.8 and 0.4 g."""
    ADDRESS = 0x68
    IDENTITY = (_CHIP_ID, 0xD1)
    RESET: ClassVar[dict[int, int]] = {_CONF: 0x28, _RANGE: 0x03, 0x42: 0x28, 0x44: 0x0B, 0x45: 0x88, 0x47: 0x10}
    WRITABLE = frozenset([*range(0x40, 0x49), *range(0x4B, 0x6E), *range(0x70, 0x7C), _CMD])
    NOISE_UG = (180.0, 180.0, 180.0)

    def sampling(self) -> Sampling | None:
        registers = self._registers
        odr, oversampling = registers[self._CONF] & 0x0F, registers[self._CONF] >> 4 & 7
        if registers[self._PMU_STATUS] & 0x30 != self._ACC_NORMAL or not 5 <= odr <= 12 or oversampling > 2:
            return None
        rate_hz = 100.0 * 2.0 ** (odr - 8)
        range_g = self._RANGES_G.get(registers[self._RANGE] & 0x0F, 2.0)
        test = registers[self._SELF_TEST]
        sign = (1 if test & 4 else -1) * (test & 3 == 1) * (1.0 if test & 8 else 0.5)
        x, y, z = (sign * force for force in self._RESPONSE_G)
        return Sampling(rate_hz, rate_hz * self._BANDWIDTH[oversampling], range_g, 32768.0 / range_g, (x, y, z))

    def _written(self, register: int, value: int) -> None:
        if register == _CMD:
            self._registers[_CMD] = 0
            if value == _SOFT_RESET:
                self.power_on()
            elif value == self._START_ACC:
                self._registers[self._PMU_STATUS] = self._ACC_NORMAL

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        struct.pack_into("<3h", self._registers, self._DATA, *counts)
        struct.pack_into("<h", self._registers, self._TEMPERATURE, round((temperature_c - 23.0) * 512))
        self._registers[self._STATUS] |= self._DRDY

    def _was_read(self, registers: list[int]) -> None:
        if self._DATA + 5 in registers:
            self._registers[self._STATUS] &= ~self._DRDY


class Bma400(Chip):
    """Asleep after power-on; 12 bits, little-endian; reading the interrupt status clears it."""

    _DATA, _INT_STAT0, _TEMPERATURE, _CONFIG0, _CONFIG1, _CONFIG2 = 0x04, 0x0E, 0x11, 0x19, 0x1A, 0x1B
    _INT_CONFIG0, _SELF_TEST, _DRDY, _NORMAL = 0x1F, 0x7D, 0x80, 0x02
    _RESPONSE_G = (0.9, 0.8, 0.3)
    """Each way; the difference of both ways is at least 1.5, 1.2 and 0.25 g."""
    ADDRESS = 0x14
    IDENTITY = (_CHIP_ID, 0x90)
    RESET: ClassVar[dict[int, int]] = {_CONFIG1: 0x49}
    WRITABLE = frozenset([*range(0x19, 0x1C), *range(0x1F, 0x5A), 0x7C, _SELF_TEST, _CMD])
    NOISE_UG = (180.0, 180.0, 180.0)

    def sampling(self) -> Sampling | None:
        registers = self._registers
        odr = registers[self._CONFIG1] & 0x0F
        if registers[self._CONFIG0] & 3 != self._NORMAL or registers[self._CONFIG2] & 0x0C:
            return None
        rate_hz = 100.0 * 2.0 ** (min(max(odr, 5), 11) - 8)
        range_g = 2.0 * 2 ** (registers[self._CONFIG1] >> 6)
        test = registers[self._SELF_TEST]
        sign = -1.0 if test & 8 else 1.0
        x, y, z = (sign * force * (test >> axis & 1) for axis, force in enumerate(self._RESPONSE_G))
        share = 0.24 if registers[self._CONFIG0] & 0x80 else 0.48
        return Sampling(rate_hz, rate_hz * share, range_g, 2048.0 / range_g, (x, y, z))

    def _written(self, register: int, value: int) -> None:
        if register == _CMD:
            self._registers[_CMD] = 0
            if value == _SOFT_RESET:
                self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        twelve = [min(max(count, -2048), 2047) & 0x0FFF for count in counts]
        struct.pack_into("<3H", self._registers, self._DATA, *twelve)
        self._registers[self._TEMPERATURE] = round((temperature_c - 23.0) * 2) & 0xFF
        self._registers[self._INT_STAT0] |= self._registers[self._INT_CONFIG0] & self._DRDY

    def _was_read(self, registers: list[int]) -> None:
        if self._INT_STAT0 in registers:
            self._registers[self._INT_STAT0] = 0
