"""LIS2DW12. Registers: ST LIS2DW12 data sheet (from memory)."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import little16
from hingeline_firmware.st_fifo import StFifo

_OUT_T = 0x0D
_CTRL_1 = 0x20
_CTRL_2 = 0x21
_CTRL_3 = 0x22
_CTRL_6 = 0x25
_STATUS = 0x27  # then the measurement
_OUT = 0x28

_NEW = 0x01
_CONTINUOUS = 0xC0
_COUNT = 0x3F
_RESET = 0x40
_2G = 0x44
_4G = 0x54


class Lis2dw12:
    """The driver of one chip."""

    ADDRESSES = (0x18, 0x19)
    IDENTITY_REGISTER = 0x0F
    IDENTITIES = {0x44: "lis2dw12"}
    COUNTS_PER_G = 16393  # 0.244 mg a digit of 14 bits, left-justified
    RATE_HZ = 200
    FILTER_HZ = 50
    THERMOMETER = "absolute"
    RESET_MS = 2

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(7)
        self._word = bytearray(2)
        fifo = StFifo(registers, _OUT, _CONTINUOUS, _COUNT)
        self.empty, self.drain = fifo.empty, fifo.drain
        self.name = "lis2dw12"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_CTRL_2, _RESET)

    def set_up(self):
        """Start the chip: ±2 g, 14 bit, low noise, 200 measurements a second, low-pass at a quarter of that."""
        put = self._registers.put
        self._registers.wait_clear(_CTRL_2, _RESET)
        put(_CTRL_2, 0x0C)  # a measurement is held until both its bytes are read; the address counts up
        put(_CTRL_6, _2G)
        put(_CTRL_1, 0x64)
        self.empty()

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        block = self._block
        self._registers.read_into(_STATUS, block)
        if not block[0] & _NEW:
            return False
        sums[0] += little16(block, 1)
        sums[1] += little16(block, 3)
        sums[2] += little16(block, 5)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        self._registers.fill(_OUT_T, self._word)
        return (little16(self._word, 0) * 100 >> 8) + 2500

    def self_test(self):
        """Measure how far x, y, z move, in counts; the chip has no trim codes."""
        self._registers.put(_CTRL_6, _4G)  # the force may reach 1.5 g
        moved = selftest.measure_response(self, self._registers.put, _CTRL_3, 0x00, 0x40)
        return [2 * counts for counts in moved] + [0, 0, 0]
