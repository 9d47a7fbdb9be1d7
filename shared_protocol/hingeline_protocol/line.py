"""One line on the wire: `body*XXXXXXXX\\n`. The checksum is the CRC-32 of the body in upper-case hex."""

from binascii import crc32

LINE_LIMIT = 256
"""Longest line in bytes, line feed included."""


class LineError(ValueError):
    """A line that can't be trusted. `args[0]` is one of `long`, `short`, `checksum`."""


def seal(body: bytes) -> bytes:
    """Add checksum and line feed to a body."""
    return b"%s*%08X\n" % (body, crc32(body))


def unseal(raw: bytes) -> bytes:
    """Take the body out of a received line, which may lack its line end.

    Raises
    ------
    LineError
        The line is too long, too short to hold a checksum, or its checksum differs.
    """
    raw = raw.rstrip(b"\r\n")
    if len(raw) >= LINE_LIMIT:
        raise LineError("long")
    if len(raw) < 10:
        raise LineError("short")
    body = raw[:-9]
    # Compared as text: a damaged digit must not pass as another spelling of the same number.
    if raw[-9:] != b"*%08X" % crc32(body):
        raise LineError("checksum")
    return body
