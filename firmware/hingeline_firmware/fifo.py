"""FIFOs whose oldest measurement stands where a single one would: all of them are read in few transfers."""

_BYTES = 6
_CHUNK = 8


class Fifo:
    """Reads the measurements, of six bytes each, from a register on.

    Parameters
    ----------
    read_axis
        Reads one number of a block: `registers.little16` or `registers.big16`.
    """

    def __init__(self, registers, register, read_axis):
        self._registers = registers
        self._register = register
        self._read_axis = read_axis
        block = memoryview(bytearray(_CHUNK * _BYTES))
        self._chunks = [block[: count * _BYTES] for count in range(_CHUNK + 1)]

    def add(self, sums, count):
        """Add x, y, z of so many measurements to `sums`; makes nothing on the heap."""
        left = count
        while left > 0:
            self._add(sums, min(left, _CHUNK))
            left -= _CHUNK

    def _add(self, sums, count):
        # A function of many variables would take its frame from the heap: these have few.
        chunk = self._chunks[count]
        self._registers.read_into(self._register, chunk)
        for i in range(count):
            self._add_one(sums, chunk, i * _BYTES)

    def _add_one(self, sums, chunk, at):
        read_axis = self._read_axis
        sums[0] += read_axis(chunk, at)
        sums[1] += read_axis(chunk, at + 2)
        sums[2] += read_axis(chunk, at + 4)
