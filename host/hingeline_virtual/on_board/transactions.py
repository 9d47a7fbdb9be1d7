# mypy: ignore-errors
"""Transactions of a virtual board with the bench, over loopback TCP: its only connection. MicroPython and CPython.

A request is 16 bytes, numbers little-endian: operation, bus, address, register, length (4 bytes), the board's
clock in µs (8 bytes). A WRITE goes on with `length` bytes. The answer is 16 bytes: errno (4), length (4), the
bench's clock in µs (8). An EXCHANGE does too.
Its answer and a READ's go on with `length` bytes, LEVEL's has an errno if SDA is held low.
FEED has no answer; its length is the watchdog's time in ms. Reading makes nothing on the heap, so the firmware's own
use of it can be measured.

The board's clock is virtual: work costs a fixed time, and a sleep ends when the bench's clock has come to its end.
"""

import os
import socket

START = 0
READ = 1
WRITE = 2
SLEEP = 3
FEED = 4
PROMPT = 5
LEVEL = 6
FREE = 7
EXCHANGE = 8
LEFT_STATUS = 0
"""Exit status of a prompt that was left, or of a program ended by Ctrl-C where there is no prompt: it starts again."""
RESET_STATUS = 64
"""Exit status with which a board's program asks to be started again."""
POWER_ON, RESET, WATCHDOG = 1, 2, 3
"""Why a board starts."""
HEADER = 16
LONGEST = 256
STALL_US = 250000
"""A board this far behind the bench was stalled, because nobody read its output: its clock skips that time."""

_IPPROTO_TCP = 6
_TCP_NODELAY = 1

clock_us = 0
_bench_us = 0
_request = bytearray(HEADER + LONGEST)
_header = memoryview(_request)[:HEADER]
_answer = bytearray(HEADER)
_stream = None


def start():
    """Connect to the bench and wait until it starts this board's clock."""
    global _stream  # noqa: PLW0603
    host, port = os.getenv("HINGELINE_BENCH").split(":")
    link = socket.socket()
    link.connect(socket.getaddrinfo(host, int(port))[0][-1])
    link.setsockopt(_IPPROTO_TCP, _TCP_NODELAY, 1)
    _stream = link.makefile("rwb", 0)
    _ask(START, 0, 0, 0, int(os.getenv("HINGELINE_BOARD")))


def spend(cost_us):
    """Add the time that work takes to the clock."""
    global clock_us  # noqa: PLW0603
    clock_us += cost_us


def sleep(wait_us):
    """Sleep, and let the bench's clock catch up."""
    spend(wait_us)
    if clock_us > _bench_us:
        _ask(SLEEP, 0, 0, 0, 0)


def read(bus, address, register, buffer):
    """Fill `buffer` from a chip's registers.

    Raises
    ------
    OSError
        The chip did not acknowledge, or the bus hangs.
    """
    _ask(READ, bus, address, register, len(buffer))
    _fill(buffer)


def write(bus, address, register, data):
    """Write to a chip's registers. Raises as `read`."""
    _request[HEADER : HEADER + len(data)] = data
    _ask(WRITE, bus, address, register, len(data))


def exchange(bus, frame, received):
    """Send a frame over SPI while `received` is filled. Raises as `read`."""
    _request[HEADER : HEADER + len(frame)] = frame
    _ask(EXCHANGE, bus, 0, 0, len(frame))
    _fill(received)


def holds(bus):
    """Whether a chip holds the bus's SDA low."""
    try:
        _ask(LEVEL, bus, 0, 0, 0)
    except OSError:
        return True
    return False


def free(bus):
    """Tell the chips of a bus that they saw nine clocks and a STOP."""
    _ask(FREE, bus, 0, 0, 0)


def feed(time_ms):
    """Feed the watchdog for so long; the first feed arms it."""
    _send(FEED, 0, 0, 0, time_ms)


def prompt():
    """Tell the bench that the program is over and the prompt begins."""
    _ask(PROMPT, 0, 0, 0, 0)


def _send(operation, bus, address, register, length):
    _request[0] = operation
    _request[1] = bus
    _request[2] = address
    _request[3] = register
    _put(4, 4, length)
    _put(8, 8, clock_us)
    _stream.write(memoryview(_request)[: HEADER + length] if operation in (WRITE, EXCHANGE) else _header)


def _ask(operation, bus, address, register, length):
    global clock_us, _bench_us  # noqa: PLW0603
    _send(operation, bus, address, register, length)
    _fill(_answer)
    _bench_us = _get(8, 7)
    if operation == SLEEP and _bench_us - clock_us > STALL_US:
        clock_us = _bench_us
    error = _get(0, 4)
    if error:
        raise OSError(error, "bus")  # CPython takes a single argument for no number


def _put(start, size, value):
    for i in range(start, start + size):
        _request[i] = value & 0xFF
        value >>= 8


def _get(start, size):
    value = 0
    for i in range(start + size - 1, start - 1, -1):
        value = value << 8 | _answer[i]
    return value


def _fill(buffer):
    filled = _stream.readinto(buffer)
    while filled < len(buffer):
        if not filled:
            raise SystemExit("the virtual bench has ended")
        filled += _stream.readinto(memoryview(buffer)[filled:])
