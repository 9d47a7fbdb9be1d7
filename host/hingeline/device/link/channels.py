"""Bytes to and from an open port. Every failure of the port is an `OSError` with its number."""

from __future__ import annotations

import errno
import os
import re
import select
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from time import perf_counter
from typing import Any
from urllib.parse import urlsplit

import serial
from serial.tools import list_ports

WINDOWS = os.name == "nt"
BAUD = 115200
"""For UART bridges; USB and TCP have no rate."""
CONNECT_S = 5.0
WRITE_LIMIT_S = 2.0
"""A board that takes no bytes for so long hangs: a sound one takes them at once, unless it erases its flash."""
READ_BYTES = 65536
SHORT_BYTES = 2048
"""A terminal keeps 4096: a read of less than half of it has taken all."""
POLL_S = 0.2
SILICON_LABS = 0x10C4
"""Vendor of a UART bridge whose driver on Windows sets DTR and RTS one after the other, which resets an ESP32; the cure
is that of mpremote (`transport_serial.py`)."""
WINDOWS_ERRORS = {
    1: errno.ENOTTY,  # ERROR_INVALID_FUNCTION
    2: errno.ENOENT,  # ERROR_FILE_NOT_FOUND
    3: errno.ENOENT,  # ERROR_PATH_NOT_FOUND
    22: errno.ENODEV,  # ERROR_BAD_COMMAND
    31: errno.EIO,  # ERROR_GEN_FAILURE
    32: errno.EBUSY,  # ERROR_SHARING_VIOLATION
    121: errno.ETIMEDOUT,  # ERROR_SEM_TIMEOUT
    123: errno.ENOENT,  # ERROR_INVALID_NAME
    170: errno.EBUSY,  # ERROR_BUSY
    433: errno.ENODEV,  # ERROR_NO_SUCH_DEVICE
    1117: errno.EIO,  # ERROR_IO_DEVICE
    1167: errno.ENODEV,  # ERROR_DEVICE_NOT_CONNECTED
}
"""By the system's number, that of the C library; the names are those of winerror.h."""
_WINDOWS_ERROR = re.compile(r"Error\(\d+, .*, (\d+)\)")
"""How pyserial writes an error of Windows into its text: the last number is the system's."""


class SelectChannel:
    """A port that `select` knows: a socket on every system, a serial device where that is a file."""

    def __init__(self, connection: Any, receive: Callable[[int], bytes], send: Callable[[bytes], int]) -> None:
        self._connection, self._receive, self._send = connection, receive, send
        self._woken, self._waker = socket.socketpair()

    def wait(self, timeout_s: float) -> bool:
        """Wait until something has arrived; false if nothing does within `timeout_s`."""
        ready, _, _ = select.select([self._connection, self._woken], [], [], timeout_s)
        return self._connection in ready

    def read(self) -> bytes:
        """Take all that has arrived: a terminal hands it over in pieces. An end is raised once nothing is left."""
        data = b""
        try:
            while len(data) < READ_BYTES:
                piece = self._receive(READ_BYTES)
                if not piece:
                    raise ConnectionResetError(errno.ECONNRESET, "hang-up")
                data += piece
                if len(piece) < SHORT_BYTES:
                    break
        except BlockingIOError:
            return data
        except OSError:
            if not data:
                raise
        return data

    def write(self, data: bytes) -> None:
        """Send all of `data`. pyserial fails though all is sent, where this process had no turn for the limit."""
        while data:
            _, free, _ = select.select([], [self._connection], [], WRITE_LIMIT_S)
            if not free:
                raise TimeoutError(errno.ETIMEDOUT, "write")
            data = data[self._send(data) :]

    def wake(self) -> None:
        """Let a `wait` in another thread return."""
        self._waker.send(b"w")

    def close(self) -> None:
        """Free the port; nothing may be reading it."""
        for each in (self._connection, self._woken, self._waker):
            each.close()


class SerialChannel:
    """A serial device by pyserial alone, as on Windows.

    Its timeout is never changed: that would set up the port anew while another thread may be writing.
    """

    def __init__(self, connection: serial.Serial) -> None:
        self._connection = connection
        self._first = b""
        self._woken = False

    def wait(self, timeout_s: float) -> bool:
        """As of `SelectChannel`, give or take `POLL_S`."""
        deadline_s = perf_counter() + timeout_s
        with _numbered():
            while not self._first and not self._woken and perf_counter() < deadline_s:
                self._first = self._connection.read(1)
        return bool(self._first)

    def read(self) -> bytes:
        """Take all that has arrived, once `wait` was true."""
        data, self._first = self._first, b""
        with suppress(OSError):  # what came before an end is read before it
            data += self._connection.read(self._connection.in_waiting)
        return data

    def write(self, data: bytes) -> None:
        """Send all of `data`."""
        with _numbered():
            self._connection.write(data)

    def wake(self) -> None:
        """Let a `wait` in another thread return."""
        self._woken = True
        self._connection.cancel_read()

    def close(self) -> None:
        """Free the port; nothing may be reading it. An ESP32 restarts if DTR goes first, as it does by itself."""
        with suppress(OSError):  # the port is gone
            self._connection.rts = False
            self._connection.dtr = False
        self._connection.close()


@contextmanager
def _numbered(denied: int = errno.ENODEV) -> Iterator[None]:
    """Give an error of pyserial the number that it leaves in its text.

    `denied` is what it means that Windows denies access: a port that was open is gone, another is held.
    """
    try:
        yield
    except serial.SerialTimeoutException as error:
        raise TimeoutError(errno.ETIMEDOUT, "write") from error
    except OSError as error:
        written = _WINDOWS_ERROR.search(str(error))
        if not written:
            raise
        raise OSError({**WINDOWS_ERRORS, 5: denied}.get(int(written[1]), errno.EIO), str(error)) from error


Channel = SelectChannel | SerialChannel


def connect(port: str) -> SelectChannel:
    """Connect to `socket://host:port`. Raises `ValueError` (it is written otherwise), `OSError`."""
    url = urlsplit(port)
    if url.port is None:
        raise ValueError("it names no host:port")
    connection = socket.create_connection((url.hostname, url.port), CONNECT_S)
    connection.setblocking(False)
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return SelectChannel(connection, connection.recv, connection.send)


def open_device(port: str) -> Channel:
    """Open a serial device for this process alone. Raises `ValueError` (it is written otherwise), `OSError`."""
    limits = {"timeout": POLL_S, "write_timeout": WRITE_LIMIT_S}
    connection = serial.serial_for_url(port, do_not_open=True, baudrate=BAUD, exclusive=True, **limits)
    if not WINDOWS:
        connection.open()
        descriptor = connection.fileno()
        return SelectChannel(connection, partial(os.read, descriptor), partial(os.write, descriptor))
    resets = any(info.device.upper() == port.upper() and info.vid == SILICON_LABS for info in list_ports.comports())
    connection.dtr = connection.rts = not resets
    with _numbered(denied=errno.EBUSY):
        connection.open()
    connection.set_buffer_size(READ_BYTES)
    connection.dtr = True  # in this order it resets no ESP32
    connection.rts = True
    return SerialChannel(connection)
