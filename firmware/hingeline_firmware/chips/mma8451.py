"""MMA8451. Registers: NXP (Freescale) MMA8451Q data sheet (from memory); AN4076 for modes and data."""

from hingeline_firmware import selftest
from hingeline_firmware.registers import big16
from hingeline_protocol.messages import NO_TEMPERATURE_CC

_STATUS = 0x00  # then the measurement
_F_SETUP = 0x09
_XYZ_DATA_CFG = 0x0E
_CTRL_1 = 0x2A
_CTRL_2 = 0x2B

_NEW_XYZ = 0x08
_STANDBY = 0x14
_ACTIVE = 0x15
_RESET = 0x40
_HIGH_RESOLUTION = 0x02
_SELF_TEST = 0x82


class Mma8451:
    """The driver of one chip."""

    ADDRESSES = (0x1C, 0x1D)
    IDENTITY_REGISTER = 0x0D
    IDENTITIES = {0x1A: "mma8451"}
    COUNTS_PER_G = 16384  # 4096 digits of 14 bits, left-justified
    RATE_HZ = 200
    FILTER_HZ = 67
    THERMOMETER = "none"
    RESET_MS = 5

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(7)
        self.name = "mma8451"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        try:
            self._registers.order(_CTRL_2, _RESET)
        except OSError:
            pass  # it is gone before it acknowledges

    def set_up(self):
        """Start the chip: ±2 g, 14 bit, low noise, oversampled, 200 measurements a second."""
        put = self._registers.put
        self._registers.wait_clear(_CTRL_2, _RESET)
        put(_CTRL_1, _STANDBY)  # settings may change only there
        put(_F_SETUP, 0x00)
        put(_XYZ_DATA_CFG, 0x00)
        put(_CTRL_2, _HIGH_RESOLUTION)
        put(_CTRL_1, _ACTIVE)

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        block = self._block
        self._registers.read_into(_STATUS, block)
        if not block[0] & _NEW_XYZ:
            return False
        sums[0] += big16(block, 1)
        sums[1] += big16(block, 3)
        sums[2] += big16(block, 5)
        return True

    def temperature_cc(self):
        """This chip has no thermometer."""
        return NO_TEMPERATURE_CC

    def self_test(self):
        """Measure how far x, y, z move, in counts; the chip has no trim codes."""
        moved = selftest.measure_response(self, self._put_in_standby, _CTRL_2, _HIGH_RESOLUTION, _SELF_TEST)
        return moved + [0, 0, 0]

    def _put_in_standby(self, register, value):
        put = self._registers.put
        put(_CTRL_1, _STANDBY)
        put(register, value)
        put(_CTRL_1, _ACTIVE)
