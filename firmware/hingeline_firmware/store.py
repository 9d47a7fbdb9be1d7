"""Files on the board that survive a power cut: each has two copies, and a save overwrites the worse one.

A copy is `XXXXXXXX generation\\n` and the content, the checksum being the CRC-32 of what follows the blank.
A cut in mid-save leaves a torn copy and the former one. Nothing is renamed, since FAT can lose a file in that.
"""

from binascii import crc32

_ENOENT = 2
_COPIES = (0, 1)
_DAMAGED = -1
_MISSING = 0


class StoreError(Exception):
    """Every copy of a file is damaged, or what was written does not read back."""


def load(name):
    """Read the newest sound content of a file; None if it was never saved.

    Raises
    ------
    StoreError
        There are copies, and none is sound.
    """
    copies = [_read(name, i) for i in _COPIES]
    generation, content = max(copies, key=lambda copy: copy[0])
    if generation <= 0 and (_DAMAGED, None) in copies:
        raise StoreError("%s: no sound copy" % name)
    return content


def save(name, content):
    """Write `content` (bytes) so that a power cut at any moment leaves the former content or this.

    Raises
    ------
    StoreError
        It does not read back.
    """
    generations = [_read(name, i)[0] for i in _COPIES]
    worse = generations.index(min(generations))
    with open(_path(name, worse), "wb") as file:
        file.write(pack(max(generations) + 1, content))
    if _read(name, worse)[1] != content:
        raise StoreError("%s: reads back differently" % name)


def pack(generation, content):
    """Make the bytes of one copy: checksum, generation, content."""
    rest = b"%d\n" % generation + content
    return b"%08X " % crc32(rest) + rest


def _read(name, copy):
    try:
        with open(_path(name, copy), "rb") as file:
            raw = file.read()
    except OSError as error:
        return (_MISSING if error.errno == _ENOENT else _DAMAGED), None
    head, _, content = raw.partition(b"\n")
    try:
        generation = int(head[9:])
    except ValueError:
        return _DAMAGED, None
    return (generation, content) if raw == pack(generation, content) else (_DAMAGED, None)


def _path(name, copy):
    return "hingeline-%s.%d" % (name, copy)
