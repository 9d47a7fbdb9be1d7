"""LSM6DS3, LSM6DS3TR-C, LSM6DSOX and LSM6DSO32. Registers: ST data sheets of the first three, AN4650 for the self-test.

An LSM6DSO answers and measures like an LSM6DSOX and is called so. The scale of the LSM6DSO32 is from memory.
"""

from hingeline_firmware import selftest
from hingeline_firmware.registers import little16

_CTRL1_XL = 0x10
_CTRL3_C = 0x12
_CTRL5_C = 0x14
_STATUS = 0x1E
_OUT_TEMP = 0x20
_OUT_XL = 0x28

_NEW_XL = 0x01
_RESET = 0x01
_208_HZ_2G = 0x50
_208_HZ_4G = 0x58


class Lsm6ds3:
    """The driver of one chip."""

    ADDRESSES = (0x6A, 0x6B)
    IDENTITY_REGISTER = 0x0F
    IDENTITIES = {0x69: "lsm6ds3", 0x6A: "lsm6ds3trc", 0x6C: "lsm6dsox"}
    FIRST = (0x01, 0x00)
    KIN = {"lsm6dsox": 16393, "lsm6dso32": 8197}
    """Chips with one identity, and their counts per g at the smallest range."""
    COUNTS_PER_G = 16393  # 0.061 mg a count
    RATE_HZ = 208
    FILTER_HZ = 104
    THERMOMETER = "absolute"
    RESET_MS = 2

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(6)
        self._word = bytearray(2)
        self.name = "lsm6ds3"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_CTRL3_C, _RESET)

    def set_up(self):
        """Start the chip: ±2 g, 208 measurements a second, low-pass at half of that; the gyroscope stays off."""
        put = self._registers.put
        self._registers.wait_clear(_CTRL3_C, _RESET)
        put(_CTRL3_C, 0x44)  # a measurement is held until both its bytes are read; the address counts up
        put(_CTRL5_C, 0x00)
        put(_CTRL1_XL, _208_HZ_2G)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        # Status and data lie a gyroscope apart: two short transactions are quicker than one long.
        if not self._registers.get(_STATUS) & _NEW_XL:
            return False
        block = self._block
        self._registers.read_into(_OUT_XL, block)
        sums[0] += little16(block, 0)
        sums[1] += little16(block, 2)
        sums[2] += little16(block, 4)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        self._registers.fill(_OUT_TEMP, self._word)
        raw = little16(self._word, 0)
        return raw * 100 // (16 if self.name == "lsm6ds3" else 256) + 2500

    def self_test(self):
        """Measure how far x, y, z move, in counts; the chip has no trim codes."""
        self._registers.put(_CTRL1_XL, _208_HZ_4G)  # the force may reach 1.7 g
        moved = selftest.measure_response(self, self._registers.put, _CTRL5_C, 0x00, 0x01)
        return [2 * counts for counts in moved] + [0, 0, 0]
