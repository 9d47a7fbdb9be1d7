"""The FIFO of LIS3DH and LIS2DW12, from their data sheets (STMicroelectronics; that of the LIS2DW12 from memory)."""

from __future__ import annotations

import struct

LEVELS = 32
_EMPTY = bytes(6)


class StFifo:
    """It keeps the newest samples; `overrun` from the loss of an older one until it is read or emptied."""

    def __init__(self) -> None:
        self._samples: list[bytes] = []
        self.overrun = False

    def __len__(self) -> int:
        return len(self._samples)

    def add(self, values: list[int]) -> None:
        """Take the x, y, z of a sample as they stand in the registers."""
        self._samples.append(struct.pack("<3h", *values))
        self.overrun |= len(self._samples) > LEVELS
        del self._samples[:-LEVELS]

    def take(self, length: int) -> bytes:
        """Give so many bytes of the oldest samples, which are gone then."""
        taken = [self._samples.pop(0) if self._samples else _EMPTY for _ in range(-(-length // 6))]
        self.overrun = False
        return b"".join(taken)[:length]

    def clear(self) -> None:
        """Throw all samples away."""
        self._samples.clear()
        self.overrun = False
