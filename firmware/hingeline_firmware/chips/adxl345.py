"""ADXL345. Registers: Analog Devices ADXL345 data sheet, register definitions and self-test."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import little16
from hingeline_protocol.messages import NO_TEMPERATURE_CC

_LEFT_BY_OTHERS = (0x1E, 0x1F, 0x20, 0x2E, 0x38)
"""Offsets of x, y and z, enabled interrupts, FIFO."""
_BW_RATE = 0x2C
_POWER_CTL = 0x2D
_INT_SOURCE = 0x30  # then DATA_FORMAT, then the measurement
_DATA_FORMAT = 0x31

_DATA_READY = 0x80
_FULL_RESOLUTION_2G = 0x08
_FULL_RESOLUTION_16G = 0x0B
_SELF_TEST = 0x80


class Adxl345:
    """The driver of one chip."""

    ADDRESSES = (0x53, 0x1D)
    IDENTITY_REGISTER = 0x00
    IDENTITIES = {0xE5: "adxl345"}
    COUNTS_PER_G = 256
    RATE_HZ = 200
    FILTER_HZ = 100
    THERMOMETER = "none"
    RESET_MS = 1

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(8)
        self.name = "adxl345"

    def reset(self):
        """Let the chip stand by: it has no reset."""
        self._registers.put(_POWER_CTL, 0x00)

    def set_up(self):
        """Start the chip: ±2 g in full resolution, 200 measurements a second."""
        put = self._registers.put
        for register in _LEFT_BY_OTHERS:
            put(register, 0x00)
        put(_BW_RATE, 0x0B)
        put(_DATA_FORMAT, _FULL_RESOLUTION_2G)
        put(_POWER_CTL, 0x08)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        block = self._block
        self._registers.read_into(_INT_SOURCE, block)
        if not block[0] & _DATA_READY:
            return False
        sums[0] += little16(block, 2)
        sums[1] += little16(block, 4)
        sums[2] += little16(block, 6)
        return True

    def temperature_cc(self):
        """This chip has no thermometer."""
        return NO_TEMPERATURE_CC

    def self_test(self):
        """Measure how far x, y, z move, in counts; the chip has no trim codes."""
        # The force on z alone may reach 3.4 g; in full resolution a count stays the same at ±16 g.
        quiet, forced = _FULL_RESOLUTION_16G, _FULL_RESOLUTION_16G | _SELF_TEST
        return selftest.measure_response(self, self._registers.put, _DATA_FORMAT, quiet, forced) + [0, 0, 0]
