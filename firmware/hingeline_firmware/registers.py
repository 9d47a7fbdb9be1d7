"""A chip's registers on an I2C bus. What is written is read back: a loose wire must not set a chip up wrongly."""

import time

_PATIENCE_MS = 100
STUCK_ERRNO = 5
"""EIO: the number reported for a bus that answers nothing but ones."""


class SetupError(Exception):
    """A register did not keep what was written."""


class Registers:
    """The registers of the chip at one address of one bus.

    Every method raises OSError when the chip does not answer.
    """

    def __init__(self, i2c, address):
        self._i2c = i2c
        self._address = address
        self._byte = bytearray(1)

    def get(self, register):
        """Read one register."""
        self._i2c.readfrom_mem_into(self._address, register, self._byte)
        return self._byte[0]

    def fill(self, register, block):
        """Fill `block` from `register` on, with any content: a temperature may be a word of ones."""
        self._i2c.readfrom_mem_into(self._address, register, block)

    def read_into(self, register, block):
        """Fill `block` from `register` on. A block of ones is refused: then no chip drives the bus."""
        self.fill(register, block)
        for byte in block:
            if byte != 0xFF:
                return
        raise OSError(STUCK_ERRNO, "stuck")

    def order(self, register, value):
        """Write one register that does not keep what is written: a command."""
        self._byte[0] = value
        self._i2c.writeto_mem(self._address, register, self._byte)

    def wait_clear(self, register, bits):
        """Wait until a chip has done what it was ordered: these bits are clear then.

        Raises
        ------
        SetupError
            That does not end.
        """
        if not self.becomes(register, bits, 0, _PATIENCE_MS):
            raise SetupError("register 0x%02X: its reset does not end" % register)

    def becomes(self, register, bits, wanted, patience_ms):
        """Wait until these bits of a register are as wanted, and tell whether they were in time."""
        for _ in range(patience_ms):
            if self.get(register) & bits == wanted:
                return True
            time.sleep_ms(1)
        return False

    def put(self, register, value):
        """Write one register and read it back.

        Raises
        ------
        SetupError
            It reads back differently.
        """
        self.order(register, value)
        kept = self.get(register)
        if kept != value:
            raise SetupError("register 0x%02X: wanted 0x%02X, got 0x%02X" % (register, value, kept))


def big16(block, at):
    """Read a signed 16-bit number, its high byte first."""
    return ((block[at] << 8 | block[at + 1]) ^ 0x8000) - 0x8000


def little16(block, at):
    """Read a signed 16-bit number, its low byte first."""
    return ((block[at + 1] << 8 | block[at]) ^ 0x8000) - 0x8000
