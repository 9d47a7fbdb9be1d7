"""MPU-6050 and what modules sold under its name carry: MPU-6500, MPU-9250, MPU-9255, and their successors.

Registers and temperature: InvenSense RM-MPU-6000A and, for the later chips, RM-MPU-6500A. The identities of MPU-6886,
ICM-20602, ICM-20608 and ICM-20689: public drivers; their thermometer: ICM-20608-G's driver, the others from memory.
0x72 and 0x74 are clones of the MPU-6500, as owners of such modules report them (from memory).
"""

from hingeline_firmware import selftest
from hingeline_firmware.fifo import Fifo
from hingeline_firmware.registers import big16

_SELF_TEST_X = 0x0D
_SMPLRT_DIV = 0x19
_CONFIG = 0x1A
_ACCEL_CONFIG = 0x1C
_ACCEL_CONFIG_2 = 0x1D
_FIFO_EN = 0x23
_INT_ENABLE = 0x38
_INT_STATUS = 0x3A
_TEMP_OUT = 0x41
_USER_CTRL = 0x6A
_PWR_MGMT_1 = 0x6B
_FIFO_COUNT = 0x72
_FIFO_R_W = 0x74

_DATA_READY = 0x01
_MPU_6500 = ("mpu6500", "mpu9250", "mpu9255")
"""Chips with the thermometer of the MPU-6500; the other later ones have another."""
_RESET = 0x80
_FIFO_OF_ACCELERATIONS = 0x08
_FIFO_EMPTY_AND_ON = 0x44
_MEASUREMENT_BYTES = 6
_FULL_BYTES = 500
"""The smallest FIFO, of the MPU-6500, has 512 bytes: one that holds more than this may have lost some."""
_RANGE_2G = 0x00
_RANGE_8G = 0x10
_RANGE_8G_SELF_TEST = 0xF0


class Mpu6050:
    """The driver of one chip."""

    ADDRESSES = (0x68, 0x69)
    IDENTITY_REGISTER = 0x75
    IDENTITIES = {
        0x68: "mpu6050",
        0x70: "mpu6500",
        0x72: "mpu6500",
        0x74: "mpu6500",
        0x71: "mpu9250",
        0x73: "mpu9255",
        0x98: "icm20689",
        0x19: "mpu6886",
        0x12: "icm20602",
        0xAF: "icm20608",
    }
    COUNTS_PER_G = 16384
    RATE_HZ = 200
    FILTER_HZ = 44
    DELAY_US = 4900  # RM-MPU-6000A, DLPF_CFG; 4.88 ms for the later chips
    THERMOMETER = "absolute"
    RESET_MS = 10

    def __init__(self, registers):
        self._registers = registers
        self._block = bytearray(7)
        self._fifo = Fifo(registers, _FIFO_R_W, big16)
        self._word = bytearray(2)
        self.name = "mpu6050"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        self._registers.order(_PWR_MGMT_1, _RESET)

    def set_up(self):
        """Wake the chip: ±2 g, 44 Hz low-pass, 200 measurements a second."""
        put = self._registers.put
        self._registers.wait_clear(_PWR_MGMT_1, _RESET)
        put(_PWR_MGMT_1, 0x01)  # awake, on the steadier clock of the gyroscope
        put(_CONFIG, 0x03)
        put(_SMPLRT_DIV, 4)  # of 1 kHz
        put(_ACCEL_CONFIG, _RANGE_2G)
        put(_INT_ENABLE, _DATA_READY)
        if self.name != "mpu6050":
            put(_ACCEL_CONFIG_2, 0x03)  # the later chips' own accelerometer low-pass
        put(_FIFO_EN, _FIFO_OF_ACCELERATIONS)
        self.empty()

    def read(self, sums):
        """Add x, y, z to `sums` and return True, or return False if the chip has no new measurement."""
        block = self._block
        self._registers.read_into(_INT_STATUS, block)
        if not block[0] & _DATA_READY:
            return False
        sums[0] += big16(block, 1)
        sums[1] += big16(block, 3)
        sums[2] += big16(block, 5)
        return True

    def empty(self):
        """Throw away what the FIFO holds."""
        self._registers.order(_USER_CTRL, _FIFO_EMPTY_AND_ON)

    def drain(self, sums):
        """Add x, y, z of all measurements in the FIFO to `sums`; tell how many, or -1 if it was full."""
        self._registers.fill(_FIFO_COUNT, self._word)
        held = self._word[0] << 8 | self._word[1]
        if held > _FULL_BYTES:
            self.empty()
            return -1
        count = held // _MEASUREMENT_BYTES
        self._fifo.add(sums, count)
        return count

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        self._registers.fill(_TEMP_OUT, self._word)
        raw = big16(self._word, 0)
        if self.name == "mpu6050":
            return raw * 10 // 34 + 3653  # raw / 340 + 36.53
        if self.name in _MPU_6500:
            return raw * 10000 // 33387 + 2100  # raw / 333.87 + 21
        return raw * 1000 // 3268 + 2500  # raw / 326.8 + 25

    def self_test(self):
        """Measure how far x, y, z move, in counts, and read the factory's trim codes."""
        moved = selftest.measure_response(self, self._registers.put, _ACCEL_CONFIG, _RANGE_8G, _RANGE_8G_SELF_TEST)
        codes = bytearray(4)
        self._registers.read_into(_SELF_TEST_X, codes)
        trims = [codes[i] for i in range(3)]
        if self.name == "mpu6050":
            # Three high bits share a register with the gyroscope's code; two low bits have their own register.
            trims = [(codes[i] >> 5) << 2 | codes[3] >> (4 - 2 * i) & 0x03 for i in range(3)]
        # The test runs at ±8 g, a quarter of the counts.
        return [4 * counts for counts in moved] + trims
