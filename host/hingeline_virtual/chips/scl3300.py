"""SCL3300, from the data sheet Murata SCL3300-D01 as public drivers quote it; what is marked M is from memory.

A frame is OP (write, five bits of address, two of return status), 16 bits of data, CRC-8. The answer to a frame comes
with the next one. Register n stands in bytes 2n and 2n + 1, high byte first.
"""

from __future__ import annotations

from typing import ClassVar

from hingeline_virtual.chips.chip import Chip, Sampling

_DATA, _TEMPERATURE, _STATUS, _MODE, _BANK = 0x01, 0x05, 0x06, 0x0D, 0x1F
_RESET, _POWER_DOWN = 0x20, 0x04
_STARTING, _NORMAL, _ERROR = 0b00, 0b01, 0b11
_COUNTS_PER_G = (6000.0, 3000.0, 12000.0, 12000.0)
_RANGE_G = (1.2, 2.4, 1.2, 1.2)
"""Of modes 3 and 4 only ±10° are specified; where they saturate is not known."""
_FILTER_HZ = (40.0, 70.0, 10.0, 10.0)
_RATE_HZ = 2000.0
"""Internal rate (M)."""
_WRONG_FRAME = 0x0200
"""A bit of STATUS: the CRC or the frame of a command was wrong (M)."""
_POWERED_ON = 0x0004
"""A bit of STATUS after power-on, until it is read (M)."""


def crc8(frame: bytes) -> int:
    """CRC-8 of polynomial 0x1D, from 0xFF on, inverted."""
    crc = 0xFF
    for bit in (byte >> place & 1 for byte in frame for place in range(7, -1, -1)):
        crc = crc << 1 & 0xFF ^ (0x1D if (crc >> 7) ^ bit else 0)
    return crc ^ 0xFF


class Scl3300(Chip):
    """It measures after power-on, in mode 1."""

    SIZE = 64
    ADDRESS = 0
    BUS = 2
    IDENTITY = (0x21, 0xC1)
    RESET: ClassVar[dict[int, int]] = {2 * _STATUS + 1: _POWERED_ON}
    WRITABLE = frozenset(2 * register + byte for register in (0x0C, _MODE, _BANK) for byte in (0, 1))
    NOISE_UG = (37.0, 37.0, 37.0)
    """In mode 1: that of its kin SCA3300 with the same low-pass (M)."""

    def power_on(self) -> None:
        super().power_on()
        self._answer = bytes(4)
        self._set_up(0.0)

    def exchange(self, frame: bytes, time_s: float) -> bytes:
        """Take a frame and give the answer to the one before, at a scene time."""
        self.measure_until(time_s)  # after power-on it measures without being written to
        answer = self._answer
        self._answer = self._carry_out(frame, time_s)
        return answer

    def _carry_out(self, frame: bytes, time_s: float) -> bytes:
        """Do what a frame orders, and make its answer; a damaged one is refused."""
        register = frame[0] >> 2 & 0x1F
        if crc8(frame[:3]) != frame[3]:
            self._registers[2 * _STATUS : 2 * _STATUS + 2] = _WRONG_FRAME.to_bytes(2, "big")
        elif frame[0] & 0x80:
            self.write(2 * register, frame[1:3], time_s)
        status = _NORMAL if not any(self._registers[2 * _STATUS : 2 * _STATUS + 2]) else _ERROR
        data = self.read(2 * register, 2, time_s) if register == _BANK or not self._other_bank() else bytes(2)
        head = bytes([frame[0] & 0xFC | status, *data])
        return head + bytes([crc8(head)])

    def _other_bank(self) -> bool:
        return bool(self._registers[2 * _BANK + 1] & 1)

    def sampling(self) -> Sampling | None:
        mode = self._registers[2 * _MODE + 1]
        if mode & _POWER_DOWN:
            return None
        return Sampling(
            rate_hz=_RATE_HZ,
            filter_hz=_FILTER_HZ[mode & 3],
            range_g=_RANGE_G[mode & 3],
            counts_per_g=_COUNTS_PER_G[mode & 3],
        )

    def _written(self, register: int, value: int) -> None:
        if register == 2 * _MODE + 1 and value & _RESET and not self._other_bank():
            self.power_on()

    def _latch(self, counts: list[int], temperature_c: float) -> None:
        data = b"".join(count.to_bytes(2, "big", signed=True) for count in counts)
        self._registers[2 * _DATA : 2 * _DATA + 6] = data
        raw_temperature = round((temperature_c + 273.0) * 18.9)
        self._registers[2 * _TEMPERATURE : 2 * _TEMPERATURE + 2] = raw_temperature.to_bytes(2, "big")

    def _was_read(self, registers: list[int]) -> None:
        if 2 * _STATUS in registers:
            self._registers[2 * _STATUS : 2 * _STATUS + 2] = bytes(2)
