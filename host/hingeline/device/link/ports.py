"""Finding and opening ports: a device, a pty, or `socket://host:port`."""

from __future__ import annotations

import errno
import os
import re
import select
import sys
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import serial
from serial.tools import list_ports

from hingeline.device.link import TCP_PORT
from hingeline.device.link.devices import DEVICES, VENDORS, Device, permission
from hingeline.errors import HingelineError, NoBoard, PortBusy, PortForbidden, UsageProblem, in_words

BAUD = 115200
"""For UART bridges; USB and TCP have no rate."""
WRITE_LIMIT_S = 2.0
"""A board that takes no bytes for so long hangs: a sound one takes them at once, unless it erases its flash."""
READ_BYTES = 65536
SHORT_BYTES = 2048
"""A terminal keeps 4096: a read of less than half of it has taken all."""
COMMAND_LETTERS = 80
_HOST = re.compile(r"[\w-]+(?:\.[\w-]+)+(?P<tcp_port>:\d+)?", re.ASCII)


@dataclass(frozen=True)
class Candidate:
    """A USB serial port that may lead to a board; `device` is the usual one of its USB identity, None if unknown."""

    port: str
    description: str
    likely: bool
    device: Device | None

    @property
    def name(self) -> str:
        """What it usually is, or what it calls itself."""
        return self.device.name if self.device else self.description


def discover() -> tuple[Candidate, ...]:
    """List the USB serial ports, those that look like a board first."""
    candidates = []
    for info in list_ports.comports():
        if info.vid is not None:
            text, device = info.description or "serial port", DEVICES.get((info.vid, info.pid))
            candidates.append(Candidate(info.device, text, info.vid in VENDORS, device))
    return tuple(sorted(candidates, key=lambda candidate: (not candidate.likely, candidate.port)))


class Channel:
    """Bytes to and from an open port; every failure of the port is an `OSError`."""

    def __init__(self, connection: serial.SerialBase) -> None:
        self._connection = connection
        self._first = b""

    def wait(self, timeout_s: float) -> bool:
        """Wait until something has arrived; false if nothing does within `timeout_s`."""
        self._connection.timeout = timeout_s
        self._first = self._connection.read(1)
        return bool(self._first)

    def read(self) -> bytes:
        """Take all that has arrived, once `wait` was true."""
        rest: bytes = self._connection.read(self._connection.in_waiting)
        return self._first + rest

    def write(self, data: bytes) -> None:
        """Send all of `data`."""
        try:
            self._connection.write(data)
        except serial.SerialTimeoutException as error:
            raise TimeoutError(errno.ETIMEDOUT, "write") from error

    def wake(self) -> None:
        """Let a `read` that waits in another thread return."""
        if hasattr(self._connection, "cancel_read"):
            self._connection.cancel_read()

    def close(self) -> None:
        """Free the port; nothing may be reading it."""
        link = getattr(self._connection, "_socket", None)
        self._connection.close()
        if link is not None:  # pyserial leaves a socket open whose far end has hung up
            link.close()


class DescriptorChannel(Channel):
    """The same over the file descriptor, where there is one: one wake-up takes all that has arrived."""

    def __init__(self, connection: serial.SerialBase) -> None:
        super().__init__(connection)
        self._descriptor: int = connection.fileno()
        self._woken, self._waker = os.pipe()

    def wait(self, timeout_s: float) -> bool:
        ready, _, _ = select.select([self._descriptor, self._woken], [], [], timeout_s)
        return self._descriptor in ready

    def read(self) -> bytes:
        """Take all that has arrived: a terminal hands it over in pieces. An end is raised once nothing is left."""
        data = b""
        try:
            while len(data) < READ_BYTES:
                piece = os.read(self._descriptor, READ_BYTES)
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
            _, free, _ = select.select([], [self._descriptor], [], WRITE_LIMIT_S)
            if not free:
                raise TimeoutError(errno.ETIMEDOUT, "write")
            data = data[os.write(self._descriptor, data) :]

    def wake(self) -> None:
        os.write(self._waker, b"w")

    def close(self) -> None:
        super().close()
        os.close(self._woken)
        os.close(self._waker)


def open_port(port: str) -> Channel:
    """Open `port` for this process alone.

    Raises `NoBoard` (nothing is there); `PortBusy`, `PortForbidden` (it is there and can't be had); `UsageProblem`
    (`port` is no device and no `socket://host:port`).
    """
    try:
        if port.startswith("socket://") and urlsplit(port).port is None:
            raise ValueError("it names no host:port")
        connection = serial.serial_for_url(port, baudrate=BAUD, write_timeout=WRITE_LIMIT_S, exclusive=True)
    except ValueError as error:
        cure = "Give a device such as /dev/ttyACM0 or COM3, or socket://host:port"
        raise UsageProblem(f"{port!r} is no port: {error}", cure) from error
    except OSError as error:
        raise _refusal(port, error) from error
    return DescriptorChannel(connection) if os.name == "posix" else Channel(connection)


def _refusal(port: str, error: OSError) -> HingelineError:
    """Tell why `port` can't be opened, by the error number alone."""
    number = error.errno if error.errno is not None else getattr(error.__context__, "errno", None)
    if number in (errno.EACCES, errno.EPERM):
        return PortForbidden(f"You may not open {port}", permission(port).cure)
    busy_on_windows = sys.platform == "win32" and any(port == info.device for info in list_ports.comports())
    if number in (errno.EBUSY, errno.EAGAIN) or busy_on_windows:
        holders = ", ".join(holding(port)) or "another program"
        return PortBusy(f"{port} is held by {holders}", "Close that program, then try again")
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV, errno.ENOTDIR):
        if host := _HOST.fullmatch(port):
            url = f"socket://{port}" if host["tcp_port"] else f"socket://{port}:{TCP_PORT}"
            return NoBoard(f"There is no device {port}", f"Write {url} if it is a board on the network")
        return NoBoard(f"There is no {port}", "Plug the board in; `hingeline boards` lists what is there")
    reason = in_words(error)
    if port.startswith("socket://"):
        return NoBoard(f"Nothing answers at {port} ({reason})", "Start what serves it, and check host and port")
    text = f"{port} can't be opened as a serial port ({reason})"
    return NoBoard(text, "`hingeline boards` lists what is there")


def holding(port: str) -> list[str]:
    """Name the processes that have `port` open, as far as the system shows them (Linux)."""
    device = os.path.realpath(port)
    names = []
    for process in Path("/proc").glob("[0-9]*"):
        if int(process.name) == os.getpid():
            continue
        try:
            if any(os.path.realpath(link) == device for link in (process / "fd").iterdir()):
                names.append(f"`{_command(process)}` (process {process.name})")
        except OSError:  # it ended meanwhile, or is another user's
            continue
    return names


def _command(process: Path) -> str:
    """Read the command of a process as its user typed it, without folders; cut where it is long."""
    words = (process / "cmdline").read_text(errors="replace").rstrip("\0").split("\0")
    if Path(words[0]).name.startswith("python") and len(words) > 1 and not words[1].startswith("-"):
        words = words[1:]
    text = " ".join([Path(words[0]).name, *words[1:]])
    shown = "".join(letter if letter.isprintable() else " " for letter in text)
    return shown if len(shown) <= COMMAND_LETTERS else f"{shown[:COMMAND_LETTERS]}…"
