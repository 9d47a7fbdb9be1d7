"""SCL3300. Registers, frames and scale: Murata SCL3300-D01 data sheet, read in public drivers; times: from memory."""

import time

from hingeline_firmware.registers import SetupError

_ACC_X = 0x01
_ACC_Y = 0x02
_ACC_Z = 0x03
_TEMPERATURE = 0x05
_STATUS = 0x06
_MODE = 0x0D
_BANK = 0x1F

_ANY_ANGLE = 0x00
_RESET = 0x20
_WAKE_MS = 2
_FILTER_MS = 30


class Scl3300:
    """The driver of one chip. It monitors itself at all times, and each answer says whether it is in order."""

    WIRE = "spi"
    ADDRESSES = (0,)
    IDENTITY_REGISTER = 0x10
    IDENTITIES = {0xC1: "scl3300"}
    FIRST = (0x1F, 0x00)
    COUNTS_PER_G = 6000
    RATE_HZ = 2000
    FILTER_HZ = 40
    THERMOMETER = "absolute"
    RESET_MS = 2

    def __init__(self, frames):
        self._frames = frames
        self.name = "scl3300"

    def reset(self):
        """Let the chip forget what other programs have set; it needs RESET_MS for that."""
        order = self._frames.order
        order(_BANK, 0)
        order(_MODE, _ANY_ANGLE)  # one that is powered down wakes up
        time.sleep_ms(_WAKE_MS)
        order(_MODE, _RESET)

    def set_up(self):
        """Start the chip: ±1.2 g, low-pass at 40 Hz; the modes of more counts per g are for ±10° from level."""
        frames = self._frames
        frames.put(_MODE, _ANY_ANGLE)
        time.sleep_ms(_FILTER_MS)
        frames.get(_STATUS)  # what happened before is cleared by reading it
        status = frames.get(_STATUS)
        if status:
            raise SetupError("register 0x%02X: wanted 0x0000, got 0x%04X" % (_STATUS, status))

    def read(self, sums):
        """Add x, y, z to `sums` and return True; it measures ten times as often as it may be asked."""
        frames = self._frames
        frames.ask(_ACC_X)
        frames.ask(_ACC_Y)
        x = frames.measured(_ACC_X)
        frames.ask(_ACC_Z)
        y = frames.measured(_ACC_Y)
        frames.ask(_STATUS)
        sums[2] += frames.measured(_ACC_Z)
        sums[0] += x
        sums[1] += y
        return True

    def temperature_cc(self):
        """Read the thermometer, in hundredths of a degree Celsius."""
        return self._frames.get(_TEMPERATURE) * 1000 // 189 - 27300

    def self_test(self):
        """Return None: there is no force that could be switched on."""
        return None
