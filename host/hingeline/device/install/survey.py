"""What a board is and what it has of hingeline, asked of the board itself."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib.resources import as_file, files

from hingeline.device.install.payload import payload
from hingeline.device.install.prompt import answers
from hingeline.device.install.remote import Remote
from hingeline.device.link.complaints import printable
from hingeline.device.link.ports import discover
from hingeline.device.link.usb import micropython_cure
from hingeline.errors import UsageProblem, WrongFirmware

OLDEST = (1, 20)
"""The firmware asks `sys.implementation._machine` for the microcontroller: older versions lack it (from memory)."""
OLDEST_TEXT = ".".join(map(str, OLDEST))
BLOCK_BYTES = 4096
"""A file takes whole blocks of the board's flash: littlefs on all boards that have a pin map (from memory)."""
_MARK = "hingeline-survey "
_HASHES: dict[str, Callable[[bytes], str]] = {
    "sha256": lambda content: hashlib.sha256(content).hexdigest(),
    "crc32": lambda content: f"{zlib.crc32(content):08x}",
}


@dataclass(frozen=True)
class Survey:
    """A board as it is.

    Attributes
    ----------
    name, version, machine
        What runs there: `micropython`, its version, the board's own name for itself.
    free_bytes
        Of its file system; None where it can't tell.
    hash
        How it computes `digests`: `sha256`, or `crc32` where it has no better.
    digests
        By path, the hash of each file of hingeline, and of `main.py`, whoever wrote it.
    foreign_main
        There is a `main.py`, and it starts something else.
    """

    name: str
    version: tuple[int, ...]
    machine: str
    free_bytes: int | None
    hash: str
    digests: Mapping[str, str]
    foreign_main: bool

    @property
    def differing(self) -> dict[str, bytes]:
        """The files, by path, that the board lacks or has otherwise."""
        digest = _HASHES[self.hash]
        return {
            path: content for path, content in payload().items() if self.digests.get(path) != digest(content)
        }

    @property
    def stale(self) -> tuple[str, ...]:
        """The files of an earlier hingeline that this one has no more."""
        return tuple(sorted(set(self.digests) - set(payload())))


def survey(remote: Remote) -> Survey:
    """Return what the board at a port is.

    Raises
    ------
    NoBoard, PortBusy, PortForbidden, UsageProblem
        The port can't be had.
    WrongFirmware
        It does not run MicroPython, or one that is too old.
    """
    port = remote.port
    if "://" in port:
        raise UsageProblem(f"{port} is no cable", "Plug the board in over USB")
    device = next((one.device for one in discover() if one.port == port), None)
    there, heard = answers(port)
    if not there:
        said = printable(heard)
        usually = f", usually a {device.what}" if device else ""
        raise WrongFirmware(
            f"No MicroPython prompt answers at {port}{usually}; it says {repr(said) if said else 'nothing'}",
            f"Press the board's reset button and try again. Without MicroPython: {micropython_cure(port, device)}",
        )
    found = take(remote)
    check_runs(port, found, micropython_cure(port, device))
    return found


def take(remote: Remote) -> Survey:
    """Return what a board is that has answered from its prompt. Raises `RemoteFailure`."""
    with as_file(files("hingeline.device.install.on_board") / "survey.py") as script:
        said = remote.run(script)
    (line,) = [line for line in said.splitlines() if line.startswith(_MARK)]
    told = json.loads(line.removeprefix(_MARK))
    return Survey(
        told["name"],
        tuple(told["version"]),
        told["machine"],
        told["free_bytes"],
        told["hash"],
        told["files"],
        told["foreign_main"],
    )


def check_runs(port: str, found: Survey, cure: str) -> None:
    """Raise `WrongFirmware` unless a MicroPython runs that the firmware can run on; `cure` is how to get one."""
    version = ".".join(map(str, found.version))
    if found.name != "micropython":
        raise WrongFirmware(f"{port} runs {found.name} {version}, not MicroPython", cure)
    if found.version < OLDEST:
        raise WrongFirmware(
            f"{port} runs MicroPython {version}, {OLDEST_TEXT} is the oldest that will do", cure
        )


def check_room(port: str, found: Survey) -> None:
    """Raise `UsageProblem` if what differs does not fit on the board."""
    needed = sum(-(-len(content) // BLOCK_BYTES) * BLOCK_BYTES for content in found.differing.values())
    if found.free_bytes is not None and found.free_bytes < needed:
        raise UsageProblem(
            f"{port} has {found.free_bytes // 1024} kB free, up to {needed // 1024} kB are needed",
            "Delete files of yours from the board: `mpremote fs ls` lists them",
        )
