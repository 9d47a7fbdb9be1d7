"""MPU-6050 and MPU-6500, from their register maps (RM-MPU-6000A, RM-MPU-6500A) and product specifications.

MPU-6886 and ICM-20689 are later chips with those registers (noise and thermometer from memory).
"""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_SELF_TEST_X, _SELF_TEST_A = 0x0D, 0x10
_SMPLRT_DIV, _CONFIG, _ACCEL_CONFIG, _ACCEL_CONFIG_2, _PWR_MGMT_1 = 0x19, 0x1A, 0x1C, 0x1D, 0x6B
_INT_ENABLE, _INT_STATUS, _DATA, _WHO_AM_I = 0x38, 0x3A, 0x3B, 0x75
_FIFO_EN, _USER_CTRL, _FIFO_COUNT, _FIFO_R_W = 0x23, 0x6A, 0x72, 0x74
_SLEEP, _DEVICE_RESET, _DATA_READY = 0x40, 0x80, 0x01
_ACCEL_FIFO, _FIFO_ON, _FIFO_RESET, _FIFO_OVERFLOW = 0x08, 0x40, 0x04, 0x10

_INTERNAL_HZ = 1000.0
_UNFILTERED_HZ = 1046.0


class Mpu6050(Chip):
    """It sleeps after power-on; data, then temperature, big-endian; reading INT_STATUS clears it."""

    ADDRESS = 0x68
    IDENTITY = (_WHO_AM_I, 0x68)
    RESET: ClassVar[dict[int, int]] = {
        _PWR_MGMT_1: _SLEEP,
        # Codes 15, 16, 14: three high bits each beside the gyroscope's, two low bits in a register of their own.
        _SELF_TEST_X: 3 << 5,
        _SELF_TEST_X + 1: 4 << 5,
        _SELF_TEST_X + 2: 3 << 5,
        _SELF_TEST_A: 3 << 4 | 0 << 2 | 2,
    }
    WRITABLE = frozenset([*range(0x19, 0x39), *range(0x63, 0x6E)])
    NOISE_UG = (400.0, 400.0, 400.0)
    FILTER_HZ: ClassVar[tuple[float, ...]] = (260.0, 184.0, 94.0, 44.0, 21.0, 10.0, 5.0, 260.0)
    """Bandwidth of the accelerometer's low-pass by DLPF_CFG."""
    FACTORY_G: ClassVar[tuple[float, float, float]] = tuple(
        0.34 * (0.92 / 0.34) ** ((code - 1) / 30) for code in (15, 16, 14)
    )
    """Self-test response that the codes stand for."""
    DIGITS_PER_C: ClassVar[float] = 340.0
    ZERO_DIGITS_C: ClassVar[float] = 36.53

    FIFO_BYTES: ClassVar[int] = 1024

    def power_on(self) -> None:
        super().power_on()
        self._fifo = bytearray()
        self._last_byte = bytes(1)
        """What reading an empty FIFO gives."""

    def _address(self, register: int, offset: int) -> int:
        return register if register == _FIFO_R_W else super()._address(register, offset)

    def fifo_samples(self) -> int:
        on = self._registers[_USER_CTRL] & _FIFO_ON and self._registers[_FIFO_EN] & _ACCEL_FIFO
        return self.FIFO_BYTES // 6 + 1 if on else 0

    def read(self, register: int, length: int, time_s: float) -> bytes:
        if register != _FIFO_R_W:
            return super().read(register, length, time_s)
        self.measure_until(time_s)
        taken = bytes(self._fifo[:length])
        del self._fifo[:length]
        self._count()
        self._last_byte = taken[-1:] or self._last_byte
        return taken + self._last_byte * (length - len(taken))

    def _count(self) -> None:
        struct.pack_into(">H", self._registers, _FIFO_COUNT, len(self._fifo))

    def sampling(self) -> Sampling | None:
        registers = self._registers
        if registers[_PWR_MGMT_1] & _SLEEP:
            return None
        full_scale = registers[_ACCEL_CONFIG] >> 3 & 3
        forced = registers[_ACCEL_CONFIG] >> 5
        x, y, z = self.FACTORY_G
        return Sampling(
            rate_hz=_INTERNAL_HZ / (1 + registers[_SMPLRT_DIV]),
            filter_hz=self._filter_hz(),
            range_g=2.0 * 2**full_scale,
            counts_per_g=16384.0 / 2**full_scale,
            self_test_g=(x * (forced >> 2 & 1), y * (forced >> 1 & 1), z * (forced & 1)),
        )

    def _filter_hz(self) -> float:
        return self.FILTER_HZ[self._registers[_CONFIG] & 7]

    def _written(self, register: int, value: int) -> None:
        if register == _PWR_MGMT_1 and value & _DEVICE_RESET:
            self.power_on()
        elif register == _USER_CTRL and value & _FIFO_RESET:
            self._registers[_USER_CTRL] &= ~_FIFO_RESET
            self._fifo.clear()
            self._count()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        if self.fifo_samples():
            self._fifo += struct.pack(">3h", *counts)
            if len(self._fifo) > self.FIFO_BYTES:  # the oldest bytes are lost
                del self._fifo[: -self.FIFO_BYTES]
                self._registers[_INT_STATUS] |= self._registers[_INT_ENABLE] & _FIFO_OVERFLOW
            self._count()
        raw_temperature = round((temperature_c - self.ZERO_DIGITS_C) * self.DIGITS_PER_C)
        struct.pack_into(">4h", self._registers, _DATA, *counts, raw_temperature)
        self._registers[_INT_STATUS] |= self._registers[_INT_ENABLE] & _DATA_READY

    def _was_read(self, registers: list[int]) -> None:
        if _INT_STATUS in registers:
            self._registers[_INT_STATUS] = 0


class Mpu6500(Mpu6050):
    """The later chip that many modules carry: awake after power-on, with a low-pass for the accelerometer alone."""

    FIFO_BYTES: ClassVar[int] = 512

    IDENTITY = (_WHO_AM_I, 0x70)
    RESET: ClassVar[dict[int, int]] = {
        _PWR_MGMT_1: 0x01,
        **dict.fromkeys(range(_SELF_TEST_X, _SELF_TEST_X + 3), 0x80),
    }
    NOISE_UG = (300.0, 300.0, 300.0)
    FILTER_HZ: ClassVar[tuple[float, ...]] = (218.1, 218.1, 99.0, 44.8, 21.2, 10.2, 5.05, 420.0)
    """Bandwidth by A_DLPF_CFG."""
    FACTORY_G: ClassVar[tuple[float, float, float]] = (2620 / 16384 * 1.01**127,) * 3
    DIGITS_PER_C: ClassVar[float] = 333.87
    ZERO_DIGITS_C: ClassVar[float] = 21.0

    def _filter_hz(self) -> float:
        setting = self._registers[_ACCEL_CONFIG_2]
        return _UNFILTERED_HZ if setting & 8 else self.FILTER_HZ[setting & 7]


class Icm20689(Mpu6500):
    """A later chip with another thermometer; it sleeps after power-on."""

    IDENTITY = (_WHO_AM_I, 0x98)
    RESET: ClassVar[dict[int, int]] = Mpu6500.RESET | {_PWR_MGMT_1: _SLEEP}
    NOISE_UG = (150.0, 150.0, 150.0)
    DIGITS_PER_C: ClassVar[float] = 326.8
    ZERO_DIGITS_C: ClassVar[float] = 25.0


class Mpu6886(Icm20689):
    """The same in another package, with less noise."""

    IDENTITY = (_WHO_AM_I, 0x19)
    NOISE_UG = (100.0, 100.0, 100.0)
