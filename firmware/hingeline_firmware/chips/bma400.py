"""BMA400. Registers: Bosch BST-BMA400-DS000 (map read in a public driver; bits and self-test from memory)."""

from hingeline_firmware import selftest

_DATA = 0x04
_INT_STAT_0 = 0x0E
_TEMPERATURE = 0x11
_ACC_CONFIG_0 = 0x19
_ACC_CONFIG_1 = 0x1A
_ACC_CONFIG_2 = 0x1B
_INT_CONFIG_0 = 0x1F
_SELF_TEST = 0x7D
_CMD = 0x7E

_NEW = 0x80
_200_HZ_2G = 0x39
_200_HZ_4G = 0x79
_FORCED_UP = 0x07
_FORCED_DOWN = 0x0F


class Bma400:
    """The driver of one chip."""

    ADDRESSES = (0x14, 0x15)
    IDENTITY_REGISTER = 0x00
    IDENTITIES = {0x90: "bma400"}
    COUNTS_PER_G = 1024
    RATE_HZ = 200
    FILTER_HZ = 48
    THERMOMETER = "absolute"
    RESET_MS = 5

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(6)
        self.name = "bma400"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_CMD, 0xB6)

    def set_up(self):
        """Start the chip: ±2 g, 12 bit, most oversampling, 200 measurements a second, low-pass at 0.24 of that."""
        put = self._registers.put
        put(_ACC_CONFIG_0, 0x82)
        put(_ACC_CONFIG_1, _200_HZ_2G)
        put(_ACC_CONFIG_2, 0x00)
        put(_INT_CONFIG_0, _NEW)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        # Status and data lie apart: two short transactions are quicker than one long.
        if not self._registers.get(_INT_STAT_0) & _NEW:
            return False
        block = self._block
        self._registers.read_into(_DATA, block)
        sums[0] += _signed12(block, 0)
        sums[1] += _signed12(block, 2)
        sums[2] += _signed12(block, 4)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        return ((self._registers.get(_TEMPERATURE) ^ 0x80) - 0x80) * 50 + 2300

    def self_test(self):
        """Measure how far x, y, z move between a force down and one up, in counts; the chip has no trim codes."""
        put = self._registers.put
        put(_ACC_CONFIG_1, _200_HZ_4G)
        moved = selftest.measure_response(self, put, _SELF_TEST, _FORCED_DOWN, _FORCED_UP)
        put(_SELF_TEST, 0x00)
        return [2 * counts for counts in moved] + [0, 0, 0]


def _signed12(block, at):
    """Read a signed 12-bit number, its low byte first."""
    return (((block[at + 1] & 0x0F) << 8 | block[at]) ^ 0x800) - 0x800
