"""ICM-42688-P. Registers: TDK InvenSense DS-000347, user bank 0."""

import time

from hingeline_firmware import selftest
from hingeline_firmware.registers import big16

_DEVICE_CONFIG = 0x11
_TEMP_DATA = 0x1D
_ACCEL_DATA = 0x1F
_INT_STATUS = 0x2D
_PWR_MGMT0 = 0x4E
_ACCEL_CONFIG0 = 0x50
_GYRO_ACCEL_CONFIG0 = 0x52
_INT_SOURCE0 = 0x65
_SELF_TEST_CONFIG = 0x70
_BANK_SEL = 0x76

_DATA_READY = 0x08
_WAKE_US = 200
_200_HZ_2G = 0x67
_200_HZ_4G = 0x47


class Icm42688:
    """The driver of one chip."""

    ADDRESSES = (0x68, 0x69)
    IDENTITY_REGISTER = 0x75
    IDENTITIES = {0x47: "icm42688"}
    FIRST = (0x76, 0x00)
    COUNTS_PER_G = 16384
    RATE_HZ = 200
    FILTER_HZ = 50
    THERMOMETER = "absolute"
    RESET_MS = 2

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(6)
        self._word = bytearray(2)
        self.name = "icm42688"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.put(_BANK_SEL, 0x00)
        self._registers.order(_DEVICE_CONFIG, 0x01)

    def set_up(self):
        """Start the chip: ±2 g, 200 measurements a second, low-pass at 50 Hz; the gyroscope stays off."""
        put = self._registers.put
        put(_PWR_MGMT0, 0x03)
        time.sleep_us(_WAKE_US)  # no register may be written meanwhile
        put(_SELF_TEST_CONFIG, 0x00)
        put(_GYRO_ACCEL_CONFIG0, 0x31)
        put(_ACCEL_CONFIG0, _200_HZ_2G)
        put(_INT_SOURCE0, _DATA_READY)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        # Status and data lie a gyroscope apart: two short transactions are quicker than one long.
        if not self._registers.get(_INT_STATUS) & _DATA_READY:
            return False
        block = self._block
        self._registers.read_into(_ACCEL_DATA, block)
        sums[0] += big16(block, 0)
        sums[1] += big16(block, 2)
        sums[2] += big16(block, 4)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        self._registers.fill(_TEMP_DATA, self._word)
        return big16(self._word, 0) * 10000 // 13248 + 2500  # raw / 132.48 + 25

    def self_test(self):
        """Measure how far x, y, z move, in counts. The trim codes are in another bank and are not read."""
        self._registers.put(_ACCEL_CONFIG0, _200_HZ_4G)  # the force may reach 1.2 g
        moved = selftest.measure_response(self, self._registers.put, _SELF_TEST_CONFIG, 0x00, 0x78)
        return [2 * counts for counts in moved] + [0, 0, 0]
