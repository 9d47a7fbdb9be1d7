"""ICM-42688-P, from its data sheet (TDK InvenSense DS-000347)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_DEVICE_CONFIG, _TEMP_DATA, _DATA, _INT_STATUS, _PWR_MGMT0 = 0x11, 0x1D, 0x1F, 0x2D, 0x4E
_ACCEL_CONFIG0, _GYRO_ACCEL_CONFIG0, _INT_SOURCE0, _SELF_TEST_CONFIG = 0x50, 0x52, 0x65, 0x70
_WHO_AM_I, _BANK_SEL = 0x75, 0x76
_SOFT_RESET, _LOW_NOISE, _DATA_READY = 0x01, 0x03, 0x08
_SELF_TEST_POWER, _SELF_TEST_AXES = 0x40, (0x08, 0x10, 0x20)
_BANK = 0x80

_RATE_HZ = dict(enumerate((8000.0, 4000.0, 2000.0, 1000.0, 200.0, 100.0, 50.0, 25.0, 12.5), start=3)) | {15: 500.0}
"""By ACCEL_ODR, in low-noise mode."""
_FILTER_DIVISOR = (2, 4, 5, 8, 10, 16, 20, 40)
"""By ACCEL_UI_FILT_BW: of max(400 Hz, rate), but of the rate itself at 0."""
_SELF_TEST_G = 0.5
"""Within 50 to 1200 mg."""


class Icm42688(Chip):
    """Off after power-on; big-endian; the registers of five banks share their addresses but for the selection."""

    SIZE: ClassVar[int] = 5 * _BANK
    ADDRESS = 0x68
    IDENTITY = (_WHO_AM_I, 0x47)
    RESET: ClassVar[dict[int, int]] = {
        0x4C: 0x30, 0x4D: 0x91, 0x4F: 0x06, _ACCEL_CONFIG0: 0x06, _GYRO_ACCEL_CONFIG0: 0x11, _INT_SOURCE0: 0x10,
    }  # fmt: skip
    WRITABLE = frozenset(
        [
            _DEVICE_CONFIG,
            0x13,
            0x14,
            0x16,
            *range(0x4B, 0x58),
            *range(0x5F, 0x6B),
            _SELF_TEST_CONFIG,
            _BANK_SEL,
        ]
    )
    NOISE_UG = (65.0, 65.0, 70.0)

    def _address(self, register: int, offset: int) -> int:
        address = (register + offset) % _BANK
        return address if address == _BANK_SEL else self._registers[_BANK_SEL] % 5 * _BANK + address

    def sampling(self) -> Sampling | None:
        registers = self._registers
        rate_hz = _RATE_HZ.get(registers[_ACCEL_CONFIG0] & 0x0F)
        if rate_hz is None or registers[_PWR_MGMT0] & 0x03 != _LOW_NOISE:
            return None
        range_g = 16.0 / 2 ** (registers[_ACCEL_CONFIG0] >> 5 & 3)
        choice = registers[_GYRO_ACCEL_CONFIG0] >> 4 & 7
        forced = registers[_SELF_TEST_CONFIG]
        x, y, z = (_SELF_TEST_G * bool(forced & _SELF_TEST_POWER and forced & axis) for axis in _SELF_TEST_AXES)
        return Sampling(
            rate_hz=rate_hz,
            filter_hz=(max(400.0, rate_hz) if choice else rate_hz) / _FILTER_DIVISOR[choice],
            range_g=range_g,
            counts_per_g=32768.0 / range_g,
            self_test_g=(x, y, z),
        )

    def _written(self, register: int, value: int) -> None:
        if register == _DEVICE_CONFIG and value & _SOFT_RESET:
            self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        raw_temperature = round((temperature_c - 25.0) * 132.48)
        struct.pack_into(">4h", self._registers, _TEMP_DATA, raw_temperature, *counts)
        self._registers[_INT_STATUS] |= self._registers[_INT_SOURCE0] & _DATA_READY

    def _was_read(self, registers: list[int]) -> None:
        if _INT_STATUS in registers:
            self._registers[_INT_STATUS] = 0
