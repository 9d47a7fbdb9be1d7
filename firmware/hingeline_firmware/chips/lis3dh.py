"""LIS3DH. Registers: ST DS LIS3DH (CTRL_REG1 to OUT_Z_H) and AN3308 for self-test and temperature."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import little16
from hingeline_firmware.st_fifo import StFifo

_AUTO_INCREMENT = 0x80
_OUT_ADC3 = 0x0C
_TEMP_CFG = 0x1F
_CTRL_1 = 0x20
_CTRL_2 = 0x21
_CTRL_3 = 0x22
_CTRL_4 = 0x23
_CTRL_5 = 0x24
_CTRL_6 = 0x25
_STATUS = 0x27
_OUT = 0x28
_FIFO_CTRL = 0x2E

_BOOT = 0x80
_NEW_XYZ = 0x08
_FIFO_ON = 0x40
_STREAM = 0x80
_COUNT = 0x1F
_RUN = 0x88
_RUN_SELF_TEST = 0x8A


class Lis3dh:
    """The driver of one chip."""

    ADDRESSES = (0x18, 0x19)
    IDENTITY_REGISTER = 0x0F
    IDENTITIES = {0x33: "lis3dh"}
    COUNTS_PER_G = 16000
    RATE_HZ = 200
    FILTER_HZ = 22
    THERMOMETER = "relative"
    RESET_MS = 5

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(7)
        self._word = bytearray(2)
        fifo = StFifo(registers, _OUT | _AUTO_INCREMENT, _STREAM, _COUNT)
        self.empty, self.drain = fifo.empty, fifo.drain
        self.name = "lis3dh"

    def reset(self):
        """Let the chip load its factory trim again; what other programs have set stays."""
        self._registers.order(_CTRL_5, _BOOT)

    def set_up(self):
        """Start the chip: ±2 g, 12 bit, low-pass at a ninth of 200 measurements a second."""
        put = self._registers.put
        self._registers.wait_clear(_CTRL_5, _BOOT)
        for register in (_CTRL_2, _CTRL_3, _CTRL_5, _CTRL_6, _FIFO_CTRL):
            put(register, 0x00)
        put(_CTRL_4, _RUN)  # a measurement is held until both its bytes are read; high resolution
        put(_TEMP_CFG, 0xC0)
        put(_CTRL_1, 0x67)
        put(_CTRL_5, _FIFO_ON)
        self.empty()

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        block = self._block
        self._registers.read_into(_STATUS | _AUTO_INCREMENT, block)
        if not block[0] & _NEW_XYZ:
            return False
        sums[0] += little16(block, 1)
        sums[1] += little16(block, 3)
        sums[2] += little16(block, 5)
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree above an unknown temperature: it shows changes only."""
        self._registers.fill(_OUT_ADC3 | _AUTO_INCREMENT, self._word)
        return little16(self._word, 0) * 100 >> 8

    def self_test(self):
        """Measure how far x, y, z move, in counts; the chip has no trim codes."""
        return selftest.measure_response(self, self._registers.put, _CTRL_4, _RUN, _RUN_SELF_TEST) + [0, 0, 0]
