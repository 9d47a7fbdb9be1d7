"""Everything that can go wrong for a user: one tree of exceptions, each class with its exit status.

A class without a status has that of the class it stands under; the reference shows all of them. A file to fix has the
status of a usage problem: the user can fix it, nothing was measured.
Exceptions of other libraries are wrapped where they are caught: ``raise PortBusy(...) from error``.
"""

from __future__ import annotations

import errno
from typing import NamedTuple


class HingelineError(Exception):
    """An error that a user can act on.

    `message` says what happened and, where it helps, what was expected; `cure` what to do next, as an instruction. Both
    are without a full stop.
    """

    exit_status = 1

    def __init_subclass__(cls, exit_status: int | None = None) -> None:
        if exit_status is not None:
            cls.exit_status = exit_status

    def __init__(self, message: str, cure: str) -> None:
        super().__init__(message, cure)
        self.message = message
        self.cure = cure

    def __str__(self) -> str:
        return " ".join(text if text.endswith((".", "!", "?")) else f"{text}." for text in (self.message, self.cure))


class UsageProblem(HingelineError, exit_status=2):
    """The command can't be carried out as it was given."""


class Mistake(NamedTuple):
    """One thing to fix in a file: where, what stands there, what was expected (may be empty), and a cure."""

    line: int
    key: str
    content: str
    expected: str
    cure: str


class FileError(UsageProblem):
    """A file that a person wrote has something to fix.

    `mistakes` are in the order of the file's lines; empty where the file as a whole can't be read.
    """

    def __init__(self, message: str, cure: str, mistakes: tuple[Mistake, ...] = ()) -> None:
        super().__init__(message, cure)
        self.args = (message, cure, mistakes)
        self.mistakes = mistakes


class SheetError(FileError):
    """A rigging sheet has something to fix; file, line and key are named."""


class ScenarioError(FileError):
    """A scenario of the virtual bench has something to fix; file, line and key are named."""


class LinkageBinds(UsageProblem):
    """A linkage of the given lengths can't reach the position asked of it."""


class StoreError(UsageProblem):
    """The folder of calibrations and sessions can't be read or written."""


class StoreLocked(StoreError, exit_status=4):
    """Another process writes the store now; it is named."""


class NotStored(StoreError):
    """Nothing of that kind is kept for that sensor."""


class DamagedFile(StoreError):
    """A stored file was edited or is torn; it isn't used."""


class NewerFile(StoreError):
    """A stored file has a format that a later hingeline wrote."""


class CopiesDiffer(StoreError):
    """A board and this computer keep different calibrations of one sensor; which holds, the user says."""


class NoBoard(HingelineError, exit_status=3):
    """There is no port, or nothing there."""


class BoardLost(NoBoard):
    """A board that was there fell silent, was pulled or was reset."""


class PortUnavailable(HingelineError, exit_status=4):
    """The port is there and can't be had."""


class PortBusy(PortUnavailable):
    """Another program holds the port, or another host the board behind it."""


class PortForbidden(PortUnavailable):
    """The user may not open the port; the cure names the group and the command."""


class WrongKey(PortUnavailable):
    """A board on the network asks for a key that this computer doesn't have."""


class WrongFirmware(HingelineError, exit_status=5):
    """Something answers, but it isn't the firmware of a hingeline board."""


class ProtocolMismatch(WrongFirmware):
    """No protocol version is common to host and board."""


class OutOfTolerance(HingelineError, exit_status=6):
    """Measured, and outside the tolerance that was set."""


class NotMeasurable(HingelineError, exit_status=7):
    """Physics, or the state of a sensor, forbids an honest number."""


class BoardRefused(NotMeasurable):
    """The board answered a request with `err`.

    `code` is that of the answer, a word of PROTOCOL.md.
    """

    def __init__(self, message: str, cure: str, code: str) -> None:
        super().__init__(message, cure)
        self.args = (message, cure, code)
        self.code = code


class Interrupted(HingelineError, exit_status=130):
    """The user stopped the command."""


FIREWALL = (
    "Allow Python in this computer's firewall; on macOS allow your terminal under System Settings, Privacy & Security, "
    "Local Network"
)
"""The cure where the system itself keeps a program from the network."""
_WORDS = {
    "EACCES EPERM": "it is forbidden to you",
    "EADDRINUSE": "another program has that address",
    "EADDRNOTAVAIL": "this computer doesn't have that address",
    "ECONNABORTED": "the connection broke",
    "ECONNREFUSED": "nothing listens there",
    "ECONNRESET EPIPE": "the other side hung up",
    "EDQUOT": "your share of the disk is full",
    "EFBIG ENOSPC": "the disk is full",
    "EHOSTUNREACH ENETUNREACH": "the network has no way to it",
    "ETIMEDOUT": "it gave no answer in time",
    "EINVAL": "it can't be used so",
    "ENOTTY": "it is no such device",
    "EIO": "the device gives an error or is gone",
    "ENODEV ENXIO": "the device is gone",
    "EISDIR": "it is a folder",
    "ENOENT": "it is not there",
    "ENOTDIR": "a part of its path is a file",
    "ENAMETOOLONG": "its name is too long",
    "EROFS": "its disk is read-only",
    "ELOOP": "its links lead in a circle",
    "EMFILE ENFILE": "too many files are open",
}
WORDS = {
    getattr(errno, name): words for names, words in _WORDS.items() for name in names.split() if hasattr(errno, name)
}
"""By error number; of those that this system has."""


def in_words(error: OSError) -> str:
    """Say why the system refused; of an error that a library made of another, why that other one."""
    from socket import gaierror  # `hingeline --version` does without

    cause: BaseException | None = error
    while cause is not None:
        if isinstance(cause, gaierror):
            return "the network knows no computer of that name"
        number = cause.args[0] if cause.args else None
        if number in WORDS:
            return WORDS[number]
        cause = cause.__context__
    return error.strerror or "the system gave no reason"
