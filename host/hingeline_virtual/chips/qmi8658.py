"""QMI8658, from its data sheet (QST QMI8658A; read from memory)."""

from __future__ import annotations

import struct
from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_WHO_AM_I, _REVISION, _CTRL1, _CTRL2, _CTRL5, _CTRL7 = 0x00, 0x01, 0x02, 0x03, 0x06, 0x08
_STATUS_INT, _STATUS0, _TEMPERATURE, _DATA, _TEST_DATA, _RESET = 0x2D, 0x2E, 0x33, 0x35, 0x51, 0x60
_ADDR_AI, _BIG_ENDIAN, _ACC_ON, _SELF_TEST, _READY = 0x40, 0x20, 0x01, 0x80, 0x01
_RATE_HZ = {3: 1000.0, 4: 500.0, 5: 250.0, 6: 125.0, 7: 62.5, 8: 31.25}
_BANDWIDTH = (0.0266, 0.0363, 0.0539, 0.1337)
"""Of the rate, by aLPF_MODE."""
_SELF_TEST_G = 0.6
"""At least 200 mg."""


class Qmi8658(Chip):
    """Off after power-on, big-endian and without counting up until told otherwise; it runs its self-test itself."""

    ADDRESS = 0x6B
    IDENTITY = (_WHO_AM_I, 0x05)
    RESET: ClassVar[dict[int, int]] = {_REVISION: 0x7C, _CTRL1: _BIG_ENDIAN}
    WRITABLE = frozenset([*range(0x02, 0x15), _RESET])
    NOISE_UG = (200.0, 200.0, 200.0)

    def _address(self, register: int, offset: int) -> int:
        return (register + offset) % self.SIZE if self._registers[_CTRL1] & _ADDR_AI else register

    def sampling(self) -> Sampling | None:
        registers = self._registers
        rate_hz = _RATE_HZ.get(registers[_CTRL2] & 0x0F)
        if rate_hz is None or not registers[_CTRL7] & _ACC_ON:
            return None
        range_g = 2.0 * 2 ** (registers[_CTRL2] >> 4 & 7)
        low_pass = registers[_CTRL5]
        share = _BANDWIDTH[low_pass >> 1 & 3] if low_pass & 1 else 0.5
        return Sampling(rate_hz, rate_hz * share, range_g, 32768.0 / range_g)

    def _written(self, register: int, value: int) -> None:
        if register == _RESET and value == 0xB0:
            self.power_on()
        elif register == _CTRL2 and not self._registers[_CTRL7] & _ACC_ON:
            forced = bool(value & _SELF_TEST)
            self._registers[_STATUS_INT] = _READY if forced else 0
            if forced:
                struct.pack_into("<3h", self._registers, _TEST_DATA, *[round(_SELF_TEST_G * 2048)] * 3)

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        order = ">" if self._registers[_CTRL1] & _BIG_ENDIAN else "<"
        struct.pack_into(f"{order}3h", self._registers, _DATA, *counts)
        struct.pack_into("<h", self._registers, _TEMPERATURE, round(temperature_c * 256))
        self._registers[_STATUS0] |= _READY

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 5 in registers:
            self._registers[_STATUS0] &= ~_READY
