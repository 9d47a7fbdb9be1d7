"""Finding and opening ports: a device, a pty, or `socket://host:port`."""

from __future__ import annotations

import errno
import os
import re
import sys
from operator import itemgetter
from pathlib import Path
from typing import NamedTuple

from serial.tools import list_ports

from hingeline.device.link import TCP_PORT
from hingeline.device.link.channels import Channel, connect, open_device
from hingeline.device.link.devices import DEVICES, VENDORS, Device, permission
from hingeline.errors import FIREWALL, HingelineError, NoBoard, PortBusy, PortForbidden, UsageProblem, in_words

FORBIDDEN = (errno.EACCES, errno.EPERM)
COMMAND_LETTERS = 80
_HOST = re.compile(r"[\w-]+(?:\.[\w-]+)+(?P<tcp_port>:\d+)?", re.ASCII)


class Candidate(NamedTuple):
    """A USB serial port that may lead to a board; `device` is the usual one of its USB identity, None if unknown."""

    unlikely: bool
    port: str
    name: str
    """What it usually is, or what it calls itself."""
    device: Device | None


def discover() -> tuple[Candidate, ...]:
    """List the USB serial ports, those that look like a board first."""
    candidates = []
    for info in list_ports.comports():
        if info.vid is not None:
            device = DEVICES.get((info.vid, info.pid))
            name = device.name if device else info.description or "serial port"
            candidates.append(Candidate(info.vid not in VENDORS, info.device, name, device))
    return tuple(sorted(candidates, key=itemgetter(0, 1)))


def open_port(port: str) -> Channel:
    """Open `port` for this process alone.

    Raises `NoBoard` (nothing is there); `PortBusy`, `PortForbidden` (it is there and can't be had); `UsageProblem`
    (`port` is no device and no `socket://host:port`).
    """
    try:
        return connect(port) if port.startswith("socket://") else open_device(port)
    except ValueError as error:
        cure = "Give a device such as /dev/ttyACM0 or COM3, or socket://host:port"
        raise UsageProblem(f"{port!r} is no port: {error}", cure) from error
    except OSError as error:
        raise _refusal(port, error) from error


def _refusal(port: str, error: OSError) -> HingelineError:
    """Tell why `port` can't be opened, by the error number alone."""
    number = error.errno if error.errno is not None else getattr(error.__context__, "errno", None)
    reason = in_words(error)
    if port.startswith("socket://"):
        # macOS has no way to a computer of the local network for a program that may not use it
        kept_out = number in FORBIDDEN or (sys.platform == "darwin" and number == errno.EHOSTUNREACH)
        cure = FIREWALL if kept_out else "Start what serves it, and check host and port"
        return NoBoard(f"Nothing answers at {port} ({reason})", cure)
    if number in FORBIDDEN and (rights := permission(port)):
        return PortForbidden(f"You may not open {port}", rights.cure)
    if number in (errno.EBUSY, errno.EAGAIN, *FORBIDDEN):  # what Windows forbids, another program has
        holders = ", ".join(holding(port)) or "another program"
        return PortBusy(f"{port} is held by {holders}", "Close that program, then try again")
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV, errno.ENOTDIR):
        if host := _HOST.fullmatch(port):
            url = f"socket://{port}" if host["tcp_port"] else f"socket://{port}:{TCP_PORT}"
            return NoBoard(f"There is no device {port}", f"Write {url} if it is a board on the network")
        return NoBoard(f"There is no {port}", "Plug the board in; `hingeline boards` lists what is there")
    return NoBoard(
        f"{port} can't be opened as a serial port ({reason})",
        "`hingeline boards` lists what is there; where it lists this port, replug the board and reinstall its driver",
    )


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
