"""ADXL355 and ADXL357, from their data sheets (Analog Devices ADXL354/ADXL355; ADXL356/ADXL357 from memory)."""

from __future__ import annotations

from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_DEVID_AD, _DEVID_MST, _PARTID, _REVID, _STATUS, _TEMP2, _DATA = 0x00, 0x01, 0x02, 0x03, 0x04, 0x06, 0x08
_FILTER, _RANGE, _POWER_CTL, _SELF_TEST, _RESET = 0x28, 0x2C, 0x2D, 0x2E, 0x2F
_STANDBY, _DATA_READY, _RESET_CODE = 0x01, 0x01, 0x52
_FASTEST_HZ = 4000.0
_SELF_TEST_G = (0.3, 0.3, 1.5)
"""Typical response."""


class Adxl355(Chip):
    """It stands by after power-on; 20 bits, big-endian, left-justified in three bytes."""

    ADDRESS = 0x1D
    IDENTITY = (_PARTID, 0xED)
    RESET: ClassVar[dict[int, int]] = {
        _DEVID_AD: 0xAD, _DEVID_MST: 0x1D, _REVID: 0x01, 0x29: 0x60, _RANGE: 0x81, _POWER_CTL: _STANDBY,
    }  # fmt: skip
    WRITABLE = frozenset([*range(0x1E, 0x2F), _RESET])
    NOISE_UG = (22.5, 22.5, 22.5)
    RANGE_G: ClassVar[tuple[float, ...]] = (0.0, 2.048, 4.096, 8.192)
    COUNTS_PER_G: ClassVar[float] = 256000.0
    """At the smallest range."""

    def sampling(self) -> Sampling | None:
        registers = self._registers
        choice = registers[_RANGE] & 3
        if registers[_POWER_CTL] & _STANDBY or not choice:
            return None
        rate_hz = _FASTEST_HZ / 2 ** (registers[_FILTER] & 0x0F)
        return Sampling(
            rate_hz=rate_hz,
            filter_hz=rate_hz / 4,
            range_g=self.RANGE_G[choice],
            counts_per_g=self.COUNTS_PER_G * 2 / 2**choice,
            self_test_g=_SELF_TEST_G if registers[_SELF_TEST] & 3 == 3 else (0.0, 0.0, 0.0),
        )

    def _written(self, register: int, value: int) -> None:
        if register == _RESET and value == _RESET_CODE:
            self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        raw_temperature = round(1885 - 9.05 * (temperature_c - 25.0))
        self._registers[_TEMP2 : _TEMP2 + 2] = raw_temperature.to_bytes(2, "big")
        data = b"".join((count << 4).to_bytes(3, "big", signed=True) for count in counts)
        self._registers[_DATA : _DATA + 9] = data
        self._registers[_STATUS] |= _DATA_READY

    def _was_read(self, registers: list[int]) -> None:
        if _DATA + 8 in registers:
            self._registers[_STATUS] &= ~_DATA_READY


class Adxl357(Adxl355):
    """Its identity and registers, five times its ranges."""

    NOISE_UG = (75.0, 75.0, 75.0)
    RANGE_G: ClassVar[tuple[float, ...]] = (0.0, 10.24, 20.48, 40.96)
    COUNTS_PER_G: ClassVar[float] = 51200.0
