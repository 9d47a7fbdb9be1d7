"""SPI buses with one chip each, and the frames in which Murata's inclinometers are spoken to.

Software runs these buses, so any free pins do. Several may share all pins but CS.
"""

from time import sleep_us

from machine import Pin, SoftSPI

from hingeline_firmware.registers import STUCK_ERRNO, SetupError

HZ = 1000000
"""Chips take 0.1 to 8 MHz; software does not reach this on any board."""
_APART_US = 10
"""Shortest pause between two frames."""
_WRITE = 0x80
_NORMAL = 0x01
_CRC = b"\x00\x1d\x3a\x27\x74\x69\x4e\x53\xe8\xf5\xd2\xcf\x9c\x81\xa6\xbb"
"""What four bits leave of x⁸ + x⁴ + x³ + x² + 1."""


class SpiBus:
    """The bus of a row of the pin map's `spi`."""

    WIRE = "spi"

    def __init__(self, row):
        self._cs = Pin(row["cs"], Pin.OUT, value=1)
        lines = {line: Pin(row[line]) for line in ("sck", "mosi", "miso")}
        self._spi = SoftSPI(baudrate=HZ, polarity=0, phase=0, **lines)

    def registers(self, _):
        """Give access to the registers of its chip, which needs no address."""
        return Frames(self)

    def free_if_held(self):
        """Do nothing: no chip holds a bus whose CS is high."""

    def exchange(self, sent, received):
        """Send a frame while one is received."""
        sleep_us(_APART_US)
        self._cs.value(0)
        self._spi.write_readinto(sent, received)
        self._cs.value(1)


class Frames:
    """Registers of 16 bits, in frames of 32: register, value, CRC. The answer to a frame comes with the next one.

    Every method raises OSError when no sound answer comes.
    """

    def __init__(self, bus):
        self._bus = bus
        self._sent = bytearray(4)
        self._received = bytearray(4)

    def get(self, register):
        """Read one register, whatever the chip's state."""
        self._exchange(register << 2, 0)
        self._exchange(register << 2, 0)
        return self._answer(register << 2)

    def order(self, register, value):
        """Write one register that does not keep what is written: a command."""
        self._exchange(_WRITE | register << 2, value)

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
            raise SetupError("register 0x%02X: wanted 0x%04X, got 0x%04X" % (register, value, kept))

    def ask(self, register):
        """Ask for a register; `measured` gives it after the next question."""
        self._exchange(register << 2, 0)

    def measured(self, register):
        """Read the last answer, signed: it must be of this register, and the chip in order."""
        if self._received[0] & 3 != _NORMAL:
            raise OSError(STUCK_ERRNO, "its own monitoring")
        return (self._answer(register << 2) ^ 0x8000) - 0x8000

    def _answer(self, head):
        received = self._received
        if received[0] & 0xFC != head or received[3] != _crc(received):
            raise OSError(STUCK_ERRNO, "frame")
        return received[1] << 8 | received[2]

    def _exchange(self, head, value):
        sent = self._sent
        sent[0] = head
        sent[1] = value >> 8
        sent[2] = value & 0xFF
        sent[3] = _crc(sent)
        self._bus.exchange(sent, self._received)


def _crc(frame):
    """The checksum of a frame's first three bytes; starts with ones, and is sent inverted."""
    crc = 0xFF
    for i in range(3):
        crc ^= frame[i]
        crc = (crc << 4 & 0xFF) ^ _CRC[crc >> 4]
        crc = (crc << 4 & 0xFF) ^ _CRC[crc >> 4]
    return crc ^ 0xFF
