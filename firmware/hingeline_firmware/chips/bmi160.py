"""BMI160. Registers: Bosch BST-BMI160-DS000 (map read in public drivers; filter and self-test from memory)."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import little16

_DATA_ACC = 0x12
_STATUS = 0x1B
_TEMPERATURE = 0x20
_ACC_CONF = 0x40
_ACC_RANGE = 0x41
_SELF_TEST = 0x6D
_CMD = 0x7E

_NEW_ACC = 0x80
_2G = 0x03
_8G = 0x08
_FORCED_DOWN = 0x09
_FORCED_UP = 0x0D


class Bmi160:
    """The driver of one chip."""

    ADDRESSES = (0x68, 0x69)
    IDENTITY_REGISTER = 0x00
    IDENTITIES = {0xD1: "bmi160"}
    ALSO = ((0x44, 0x0B),)  # the magnetometer's setting after power-on
    COUNTS_PER_G = 16384
    RATE_HZ = 200
    FILTER_HZ = 37
    THERMOMETER = "absolute"
    RESET_MS = 5

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(6)
        self._word = bytearray(2)
        self.name = "bmi160"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_CMD, 0xB6)

    def set_up(self):
        """Start the chip: ±2 g, 200 measurements a second, twice oversampled; the gyroscope stays off."""
        registers = self._registers
        registers.put(_ACC_CONF, 0x19)
        registers.put(_ACC_RANGE, _2G)
        registers.order(_CMD, 0x11)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        # Status and data lie apart: two short transactions are quicker than one long.
        if not self._registers.get(_STATUS) & _NEW_ACC:
            return False
        block = self._block
        self._registers.read_into(_DATA_ACC, block)
        sums[0] += little16(block, 0)
        sums[1] += little16(block, 2)
        sums[2] += little16(block, 4)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        self._registers.fill(_TEMPERATURE, self._word)
        return (little16(self._word, 0) * 100 >> 9) + 2300

    def self_test(self):
        """Measure how far x, y, z move between a force down and one up, in counts; the chip has no trim codes."""
        put = self._registers.put
        put(_ACC_RANGE, _8G)
        moved = selftest.measure_response(self, put, _SELF_TEST, _FORCED_DOWN, _FORCED_UP)
        put(_SELF_TEST, 0x00)
        return [4 * counts for counts in moved] + [0, 0, 0]
