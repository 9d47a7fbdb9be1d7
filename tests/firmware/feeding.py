"""Runs on MicroPython: how long the board goes without feeding its watchdog, by a clock that is set here.

Everything that can hold it up does: a USB host takes each line but for its end, after half a second; four ADXL355, of
all chips the slowest to read, at 100 kHz; buses that hang until they are given up. Told as JSON on standard output:
the longest time in ms, by what the board was doing.
"""

import io
import json
import sys
from binascii import crc32

import leaping

PARTLY_TAKEN_US = 500000
"""How long MicroPython waits for a host that takes a part: MICROPY_HW_USB_CDC_TX_TIMEOUT (from memory)."""
BYTE_US = 90
HANGING_US = 5000
"""What the firmware asks of a bus: `buses.hanging_us`."""
POLL = 3
READABLE, WRITABLE = 1, 4


class Clock(leaping.Clock):
    """A clock that goes on whenever it is looked at."""

    @classmethod
    def ticks_us(cls):
        cls.now_us += 1
        return cls.now_us % leaping.TICKS_PERIOD


class Machine:
    """What the firmware uses of `machine`: buses that are well or not, and the watchdog's book."""

    PWRON_RESET = 1
    manner = "well"
    fed_us = None
    longest_us = 0

    @staticmethod
    def reset_cause():
        return 1

    @staticmethod
    def unique_id():
        return b"\xff" * 8

    class Pin:
        OPEN_DRAIN = PULL_UP = OUT = 1

        def __init__(self, number, *_, value=1):
            self._level = value

        def value(self, level=None):
            if level is not None:
                self._level = level
            return self._level

    class WDT:
        def __init__(self, timeout):
            self.feed()

        def feed(self):
            if Machine.fed_us is not None:
                Machine.longest_us = max(Machine.longest_us, Clock.now_us - Machine.fed_us)
            Machine.fed_us = Clock.now_us

    class I2C:
        """Two ADXL355: identity, status, and all else as it was written; `manner` says what is wrong."""

        IDENTITY, STATUS = (0x02, 0xED), 0x04
        Z, ONE_G = 0x0E, (256000 << 4).to_bytes(3, "big")

        def __init__(self, bus, **settings):
            self._chips = {0x1D: bytearray(64), 0x53: bytearray(64)}
            self._polled = 0
            for chip in self._chips.values():
                chip[self.Z : self.Z + 3] = self.ONE_G

        def _chip(self, address, size):
            if Machine.manner == "hangs":
                Clock.now_us += HANGING_US
                raise OSError(110)
            Clock.now_us += (size + 3) * BYTE_US
            if Machine.manner == "ghosts":
                return bytearray(256)
            if address not in self._chips:
                raise OSError(5)
            return self._chips[address]

        def readfrom_mem_into(self, address, register, buffer):
            chip = self._chip(address, len(buffer))
            if Machine.manner != "ghosts":
                chip[self.IDENTITY[0]] = self.IDENTITY[1]
                self._polled += 1
                # As late as a self-test of 32 readings within 1000 looks bears it.
                ready = {"still": False, "dawdles": not self._polled % 31}.get(Machine.manner, True)
                chip[self.STATUS] = int(ready)
            buffer[:] = chip[register : register + len(buffer)]

        def writeto_mem(self, address, register, data):
            chip = self._chip(address, len(data))
            if Machine.manner != "deaf":
                chip[register : register + len(data)] = data


class Usb(io.IOBase):
    """A host on USB: sends requests, and takes no line whole."""

    def __init__(self):
        self.coming = b""

    def readinto(self, buffer):
        buffer[0], self.coming = self.coming[0], self.coming[1:]
        return 1

    def write(self, data):
        if len(data) == 1:  # the end of a torn line finds the room that there is
            return 1
        Clock.now_us += PARTLY_TAKEN_US
        return len(data) - 1

    def ioctl(self, request, events):
        return events & (WRITABLE | (READABLE if self.coming else 0)) if request == POLL else -1


sys.modules["time"], sys.modules["machine"] = Clock, Machine
from hingeline_firmware import app, config, store, wifi  # noqa: E402
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_protocol import messages  # noqa: E402
from hingeline_protocol.messages import PIECE_BYTES  # noqa: E402

FIRST = 0x1D
PICO = {"board": "pico", "watchdog": True}
MISSED = [{"chip": "adxl355", "bus": bus, "address": address} for bus in (0, 1) for address in (0x1D, 0x53)]
PIECES = 3
CRC = f"{crc32(bytes(PIECES * PIECE_BYTES)):08X}"
PUTS = [messages.Put(9, FIRST, piece, PIECES, CRC, bytes(PIECE_BYTES)) for piece in range(PIECES)]
HELLO, TEST, STATUS = messages.Hello(1, 1, 1), messages.SelfTest(2, FIRST), messages.Status(3)
START, STOP, RATE = messages.Start(4), messages.Stop(5), messages.Rate(6, 200, 1)
# What it does: (configuration, the buses at its start, the buses later, requests, whether it streams meanwhile)
DOINGS = {
    "rests": ({}, "well", "well", [], False),
    "streams": ({}, "well", "well", [RATE, STATUS], True),
    "streams while nothing measures": ({}, "well", "still", [STATUS], True),
    "streams while its buses hang": ({}, "well", "hangs", [STATUS], True),
    "introduces itself": ({}, "well", "well", [HELLO], False),
    "introduces itself in mid-stream": ({}, "well", "hangs", [HELLO], True),
    "introduces itself, all sensors missed": ({"sensors": MISSED}, "hangs", "hangs", [HELLO], False),
    "introduces itself, all sensors deaf": ({}, "deaf", "deaf", [HELLO], False),
    "introduces itself, ghosts on its buses": ({}, "ghosts", "ghosts", [HELLO], False),
    "tests a sensor that measures nothing": ({}, "well", "still", [TEST], False),
    "tests a sensor that dawdles": ({}, "well", "dawdles", [TEST], False),
    "tests a sensor whose bus hangs": ({}, "well", "hangs", [TEST], False),
    "keeps a calibration": ({}, "well", "well", PUTS, False),
    "hears what ends nowhere": ({}, "well", "well", [None], False),
}


def longest_ms(settings, first, later, requests, streams):
    """The longest that an armed board goes without feeding while it does this and for a second after."""
    store.save(config.FILE, json.dumps(dict(PICO, **settings)).encode())
    wifi.save(8771, b"shed", b"password", bytes(wifi.KEY_BYTES))  # there is none: a trouble more to tell of
    Machine.manner, Machine.fed_us = first, None
    usb = Usb()
    board = app.Board(Console(usb, usb))
    usb.coming = messages.pack(START) + (b"" if streams else messages.pack(STOP))
    while usb.coming:
        board.step()
    Machine.manner, Machine.longest_us = later, 0
    usb.coming = b"".join([messages.pack(request) if request else b"x" * 600 for request in requests])
    until_us = Clock.now_us + 1000000
    while usb.coming or Clock.now_us < until_us:
        board.step()
    return max(Machine.longest_us, Clock.now_us - Machine.fed_us) // 1000


print(json.dumps({doing: longest_ms(*how) for doing, how in DOINGS.items()}))
