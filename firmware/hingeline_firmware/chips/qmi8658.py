"""QMI8658. Registers: QST QMI8658A data sheet (map read in public drivers; filter and self-test from memory)."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import little16

_CTRL_1 = 0x02
_CTRL_2 = 0x03
_CTRL_5 = 0x06
_CTRL_7 = 0x08
_STATUS_INT = 0x2D
_STATUS_0 = 0x2E
_TEMP = 0x33
_DATA = 0x35
_SELF_TEST_X = 0x51
_RESET = 0x60

_NEW_ACC = 0x01
_DONE = 0x01
_250_HZ_2G = 0x05
_SELF_TEST = 0x80
_TEST_MS = 1000


class Qmi8658:
    """The driver of one chip."""

    ADDRESSES = (0x6A, 0x6B)
    IDENTITY_REGISTER = 0x00
    IDENTITIES = {0x05: "qmi8658"}
    COUNTS_PER_G = 16384
    RATE_HZ = 250
    FILTER_HZ = 33
    THERMOMETER = "absolute"
    RESET_MS = 15

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(6)
        self._word = bytearray(2)
        self.name = "qmi8658"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_RESET, 0xB0)

    def set_up(self):
        """Start the chip: ±2 g, 250 measurements a second, low-pass at 13 % of that; the gyroscope stays off."""
        put = self._registers.put
        put(_CTRL_1, 0x40)  # the address counts up; low byte first
        put(_CTRL_2, _250_HZ_2G)
        put(_CTRL_5, 0x07)
        put(_CTRL_7, 0x01)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        # Status and data lie apart: two short transactions are quicker than one long.
        if not self._registers.get(_STATUS_0) & _NEW_ACC:
            return False
        block = self._block
        self._registers.read_into(_DATA, block)
        sums[0] += little16(block, 0)
        sums[1] += little16(block, 2)
        sums[2] += little16(block, 4)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        self._registers.fill(_TEMP, self._word)
        return little16(self._word, 0) * 100 >> 8

    def self_test(self):
        """Let the chip measure how far x, y, z move, in counts; it has no trim codes."""
        registers = self._registers
        registers.put(_CTRL_7, 0x00)
        registers.put(_CTRL_2, _250_HZ_2G | _SELF_TEST)
        self._wait(_DONE)
        registers.put(_CTRL_2, _250_HZ_2G)
        self._wait(0)
        registers.read_into(_SELF_TEST_X, self._block)
        # A result has 2048 digits per g.
        return [8 * little16(self._block, at) for at in (0, 2, 4)] + [0, 0, 0]

    def _wait(self, wanted):
        if not self._registers.becomes(_STATUS_INT, _DONE, wanted, _TEST_MS):
            raise OSError(selftest.STILL_ERRNO, "still")
