"""One line on the wire: `body*XXXXXXXX\\n`, the checksum being the CRC-32 of the body in upper-case hex."""

import binascii

LINE_LIMIT = 256
"""Longest line in bytes, line feed included."""


class LineError(ValueError):
    """A line that can't be trusted. `args[0]` is one of `long`, `short`, `ascii`, `checksum`."""


def seal(body: bytes) -> bytes:
    """Return `body` with its checksum and line feed."""
    return b"%s*%08X\n" % (body, binascii.crc32(body))


def unseal(raw: bytes) -> bytes:
    """Return the body of one received line, with or without its line end.

    Raises
    ------
    LineError
        The line is too long or too short, holds a byte outside printable ASCII, or its checksum differs.
    """
    raw = raw.rstrip(b"\r\n")
    if len(raw) >= LINE_LIMIT:
        raise LineError("long")
    if len(raw) < 10:
        raise LineError("short")
    body = raw[:-9]
    if raw[-9:] != b"*%08X" % binascii.crc32(body):
        raise LineError("checksum")
    if min(body) < 0x20 or max(body) > 0x7E:
        raise LineError("ascii")
    return body
