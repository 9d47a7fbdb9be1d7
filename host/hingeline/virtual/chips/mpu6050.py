"""MPU-6050, from its register map (RM-MPU-6000A) and product specification (PS-MPU-6000A)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline.virtual.chips.chip import Chip, Sampling

_SMPLRT_DIV, _CONFIG, _ACCEL_CONFIG, _PWR_MGMT_1 = 0x19, 0x1A, 0x1C, 0x6B
_INT_ENABLE, _INT_STATUS, _DATA, _WHO_AM_I = 0x38, 0x3A, 0x3B, 0x75
_SLEEP, _DEVICE_RESET, _DATA_READY = 0x40, 0x80, 0x01

_FILTER_HZ = (260.0, 184.0, 94.0, 44.0, 21.0, 10.0, 5.0, 260.0)
"""Bandwidth of the accelerometer's low-pass by DLPF_CFG."""
_INTERNAL_HZ = 1000.0


class Mpu6050(Chip):
    """It sleeps after power-on; data, then temperature, big-endian; reading INT_STATUS clears it."""

    IDENTITY: ClassVar[tuple[int, int]] = (_WHO_AM_I, 0x68)
    RESET: ClassVar[dict[int, int]] = {_PWR_MGMT_1: _SLEEP}
    WRITABLE: ClassVar[frozenset[int]] = frozenset(
        [*range(0x0D, 0x11), *range(0x19, 0x39), *range(0x63, 0x6E), 0x72, 0x74]
    )
    NOISE_UG: ClassVar[tuple[float, float, float]] = (400.0, 400.0, 400.0)

    def sampling(self) -> Sampling | None:
        registers = self._registers
        if registers[_PWR_MGMT_1] & _SLEEP:
            return None
        full_scale = registers[_ACCEL_CONFIG] >> 3 & 3
        return Sampling(
            rate_hz=_INTERNAL_HZ / (1 + registers[_SMPLRT_DIV]),
            filter_hz=_FILTER_HZ[registers[_CONFIG] & 7],
            range_g=2.0 * 2**full_scale,
            counts_per_g=16384.0 / 2**full_scale,
        )

    def _written(self, register: int, value: int) -> None:
        if register == _PWR_MGMT_1 and value & _DEVICE_RESET:
            self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        raw_temperature = round((temperature_c - 36.53) * 340)
        struct.pack_into(">4h", self._registers, _DATA, *counts, raw_temperature)
        self._registers[_INT_STATUS] |= self._registers[_INT_ENABLE] & _DATA_READY

    def _was_read(self, registers: list[int]) -> None:
        if _INT_STATUS in registers:
            self._registers[_INT_STATUS] = 0
