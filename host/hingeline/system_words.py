"""What the system says when it refuses, in words that a person reads: no numbers, no names of C."""

from __future__ import annotations

import errno
import socket

_WORDS = {
    "EACCES": "it is forbidden to you",
    "EPERM": "it is forbidden to you",
    "EADDRINUSE": "another program has that address",
    "EADDRNOTAVAIL": "this computer doesn't have that address",
    "ECONNABORTED": "the connection broke",
    "ECONNREFUSED": "nothing listens there",
    "ECONNRESET": "the other side hung up",
    "EPIPE": "the other side hung up",
    "EDQUOT": "your share of the disk is full",
    "EFBIG": "the disk is full",
    "ENOSPC": "the disk is full",
    "EHOSTUNREACH": "the network has no way to it",
    "ENETUNREACH": "the network has no way to it",
    "ETIMEDOUT": "it gave no answer in time",
    "EINVAL": "it can't be used so",
    "ENOTTY": "it is no such device",
    "EIO": "the device gives an error or is gone",
    "ENODEV": "the device is gone",
    "ENXIO": "the device is gone",
    "EISDIR": "it is a folder",
    "ENOENT": "it is not there",
    "ENOTDIR": "a part of its path is a file",
    "ENAMETOOLONG": "its name is too long",
    "EROFS": "its disk is read-only",
    "ELOOP": "its links lead in a circle",
    "EMFILE": "too many files are open",
    "ENFILE": "too many files are open",
}
WORDS = {getattr(errno, name): words for name, words in _WORDS.items() if hasattr(errno, name)}
"""By error number; of those that this system has."""


def in_words(error: OSError) -> str:
    """Return why the system refused; of an error that a library made of another, why that other one."""
    cause: BaseException | None = error
    while cause is not None:
        if isinstance(cause, socket.gaierror):
            return "the network knows no computer of that name"
        number = cause.args[0] if cause.args else None
        if number in WORDS:
            return WORDS[number]
        cause = cause.__context__
    return error.strerror or "the system gave no reason"
