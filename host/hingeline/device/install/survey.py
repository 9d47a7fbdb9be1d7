"""Which board it is and which files of hingeline it has, asked of the board itself."""

from __future__ import annotations

from binascii import crc32
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files

from hingeline.device.install.payload import MPY, can_compile, payload
from hingeline.device.install.prompt import Remote, has_micropython
from hingeline.device.link.complaints import printable
from hingeline.device.link.devices import ANY_BOARD
from hingeline.device.link.ports import discover
from hingeline.errors import UsageProblem, WrongFirmware

OLDEST = (1, 20)
"""The firmware asks `sys.implementation._machine` for the microcontroller: older versions lack it (from memory)."""
OLDEST_TEXT = ".".join(map(str, OLDEST))
BLOCK_BYTES = 4096
"""A file takes whole blocks of the board's flash: littlefs on all boards that have a pin map (from memory)."""


@dataclass(frozen=True)
class Survey:
    """A board as it is: the program there, `micropython` or another, and its files."""

    name: str
    version: tuple[int, ...]
    machine: str
    """The board's own name for itself."""
    free_bytes: int | None
    """None where it does not know."""
    checksums: Mapping[str, int]
    """By path, the CRC-32 of each file of hingeline, and of `main.py`, whoever wrote it."""
    foreign_main: bool
    """There is a `main.py`, and it starts something else."""
    mpy: int
    """Version of the compiled files that it runs."""
    sources: bool = False
    """It is to have sources and no compiled files."""

    @property
    def wanted(self) -> Mapping[str, bytes]:
        """The files, by path, that it is to have: compiled ones where it runs these and they can be made."""
        return payload(sources=self.sources or self.mpy != MPY or not can_compile())

    @property
    def differing(self) -> dict[str, bytes]:
        """The files, by path, that the board lacks or has with another content."""
        return {path: content for path, content in self.wanted.items() if self.checksums.get(path) != crc32(content)}

    @property
    def stale(self) -> tuple[str, ...]:
        """The files of an earlier hingeline that this one no longer has."""
        return tuple(sorted(set(self.checksums) - set(self.wanted)))

    @property
    def current(self) -> bool:
        """It has this firmware, compiled or as sources."""
        forms = (replace(self, sources=sources) for sources in (False, True))
        return any(not form.differing and not form.stale for form in forms)


def survey(remote: Remote) -> Survey:
    """Ask the board at a port, which must run a MicroPython that the firmware can run on.

    Raises `NoBoard`, `PortBusy`, `PortForbidden`, `UsageProblem` (the port can't be had); `WrongFirmware` (it does not
    run MicroPython, or one that is too old).
    """
    port = remote.port
    if "://" in port:
        raise UsageProblem(f"{port} is a network address, expected a USB port", "Plug the board in over USB")
    device = next((candidate.device for candidate in discover() if candidate.port == port), None)
    cure = (device.micropython if device else ANY_BOARD).format(port=port)
    has_prompt, received = has_micropython(port)
    if not has_prompt:
        text = printable(received)
        usually = f", usually a {device.name}" if device else ""
        raise WrongFirmware(
            f"No MicroPython prompt answers at {port}{usually}; it says {repr(text) if text else 'nothing'}",
            f"Press the board's reset button and try again. Without MicroPython: {cure}",
        )
    board = read_board(remote)
    check_runs(port, board, cure)
    return board


def read_board(remote: Remote) -> Survey:
    """Let a board that has answered from its prompt describe itself. Raises `RemoteFailure`."""
    fields = remote.ask((files("hingeline.device.install.on_board") / "survey.py").read_text())
    return Survey(version=tuple(fields.pop("version")), **fields)


def check_runs(port: str, board: Survey, cure: str) -> None:
    """Raise `WrongFirmware` unless a MicroPython runs that the firmware can run on; `cure` is how to get one."""
    version = ".".join(map(str, board.version))
    if board.name != "micropython":
        raise WrongFirmware(f"{port} runs {board.name} {version}, not MicroPython", cure)
    if board.version < OLDEST:
        text = f"{port} runs MicroPython {version}, expected {OLDEST_TEXT} or newer"
        raise WrongFirmware(text, cure)


def check_room(port: str, board: Survey) -> None:
    """Raise `UsageProblem` if the files to copy do not fit on the board."""
    needed = sum(-(-len(content) // BLOCK_BYTES) * BLOCK_BYTES for content in board.differing.values())
    if board.free_bytes is not None and board.free_bytes < needed:
        text = f"{port} has {board.free_bytes // 1024} kB free, up to {needed // 1024} kB are needed"
        raise UsageProblem(text, "Delete your own files from the board: `mpremote fs ls` lists them")
