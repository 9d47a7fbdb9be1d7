"""The FIFO of ST's LIS3DH and LIS2DW12: both have its two registers at the same place."""

from hingeline_firmware.fifo import Fifo
from hingeline_firmware.registers import little16

_CONTROL = 0x2E
_SOURCE = 0x2F

_OVERRUN = 0x40


class StFifo(Fifo):
    """Holds the newest measurements, and says when older ones were lost.

    Parameters
    ----------
    on
        What is written into the control register to turn it on.
    counting
        The bits that count the measurements.
    """

    def __init__(self, registers, register, on, counting):
        Fifo.__init__(self, registers, register, little16)
        self._on = on
        self._counting = counting

    def empty(self):
        """Throw away what the FIFO holds."""
        self._registers.order(_CONTROL, 0x00)
        self._registers.order(_CONTROL, self._on)

    def drain(self, sums):
        """Add x, y, z of all measurements in the FIFO to `sums`; tell how many, or -1 if it was full."""
        held = self._registers.get(_SOURCE)
        if held & _OVERRUN:
            self.empty()
            return -1
        count = held & self._counting
        self.add(sums, count)
        return count
