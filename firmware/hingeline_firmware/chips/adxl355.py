"""ADXL355 and ADXL357. Registers: Analog Devices ADXL354/ADXL355 data sheet; the ADXL357's scale: from memory."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import big16

_STATUS = 0x04  # then FIFO_ENTRIES, the temperature and the measurement
_TEMP2 = 0x06
_FILTER = 0x28
_RANGE = 0x2C
_POWER_CTL = 0x2D
_SELF_TEST = 0x2E
_RESET = 0x2F
_RESET_CODE = 0x52

_DATA_READY = 0x01
_2G = 0x01
_8G = 0x03
_X, _Y, _Z = 4, 7, 10


class Adxl355:
    """The driver of one chip."""

    ADDRESSES = (0x1D, 0x53)
    IDENTITY_REGISTER = 0x02
    IDENTITIES = {0xED: "adxl355"}
    ALSO = ((0x00, 0xAD), (0x01, 0x1D))
    KIN = {"adxl355": 256000, "adxl357": 51200}
    """Chips with this identity, and their counts per g at the smallest range."""
    COUNTS_PER_G = 256000
    RATE_HZ = 250
    FILTER_HZ = 62
    THERMOMETER = "absolute"
    RESET_MS = 10

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(13)
        self._word = bytearray(2)
        self.name = "adxl355"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_RESET, _RESET_CODE)

    def set_up(self):
        """Start the chip: ±2 g, 250 measurements a second, low-pass at a quarter of that."""
        put = self._registers.put
        put(_POWER_CTL, 0x01)  # standby: range and filter may change only there
        put(_FILTER, 0x04)
        put(_RANGE, _2G)
        put(_SELF_TEST, 0x00)
        put(_POWER_CTL, 0x00)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        block = self._block
        self._registers.read_into(_STATUS, block)
        if not block[0] & _DATA_READY:
            return False
        sums[0] += _signed20(block, _X)
        sums[1] += _signed20(block, _Y)
        sums[2] += _signed20(block, _Z)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        registers, word = self._registers, self._word
        registers.fill(_TEMP2, word)
        if registers.get(_TEMP2) != word[0]:  # a new measurement came between its two bytes
            registers.fill(_TEMP2, word)
        raw = big16(word, 0) & 0x0FFF
        return 2500 + (1885 - raw) * 2000 // 181  # 25 + (1885 - raw) / 9.05

    def self_test(self):
        """Measure how far x, y, z move, in counts; the chip has no trim codes."""
        self._registers.put(_POWER_CTL, 0x01)
        self._registers.put(_RANGE, _8G)  # the force on z may reach 3 g
        self._registers.put(_POWER_CTL, 0x00)
        moved = selftest.measure_response(self, self._registers.put, _SELF_TEST, 0x01, 0x03)
        return [4 * counts for counts in moved] + [0, 0, 0]


def _signed20(block, at):
    """Read a signed 20-bit number, high byte first, left-justified in three bytes."""
    return ((block[at] << 12 | block[at + 1] << 4 | block[at + 2] >> 4) ^ 0x80000) - 0x80000
