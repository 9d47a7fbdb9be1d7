"""The plain sample lines of a run, many at once: a hundred megabytes in the time that ten take record by record.

What is plain here `decoder.sample_fields` takes, too, and to the same fields. All else, damaged lines too, is left to
be read record by record.
"""

from __future__ import annotations

from binascii import crc32
from collections.abc import Iterator
from urllib.parse import unquote

import numpy as np
from numpy.typing import NDArray

from hingeline.device.link.decoder import SampleLines
from hingeline.device.link.limits import READINGS
from hingeline_protocol.messages import SEQUENCE_PERIOD, TICKS_PERIOD_US

Integers = NDArray[np.int64]
_Bytes = NDArray[np.uint8]
_SPACES = 11
"""In a record of a sample line: `L time port s sensor sequence ticks_us readings x y z temperature*checksum`."""
_TIME_DIGITS, _DIGITS = 18, 10
"""Of 63 and of 32 bits; a time with one digit more is read line by line."""
_LOWEST = np.array((0, 0, 0, 1, *(-0x80000000,) * 3, -32768))
_HIGHEST = np.array((255, SEQUENCE_PERIOD - 1, TICKS_PERIOD_US - 1, READINGS, *(0x7FFFFFFF,) * 3, 32767))
"""Of the fields, as `sample_fields` takes them."""
_HEX = np.full(256, -1, np.int64)
_HEX[np.frombuffer(b"0123456789ABCDEF", np.uint8)] = np.arange(16)


def cut(block: bytes) -> Iterator[tuple[SampleLines | bytes, int]]:
    """Cut whole records, each with its line feed: stretches of plain sample lines, and between them each other record.

    With each comes the place of its first byte; a record is without its line feed.
    """
    shown = np.frombuffer(block, np.uint8)
    ends = np.flatnonzero(shown == ord("\n"))
    starts = np.append(0, ends + 1)
    places, lines = _plain(block, shown, starts[:-1], ends)
    others = np.setdiff1d(np.arange(ends.size), places, assume_unique=True).tolist()
    at = taken = 0
    for other in [*others, ends.size]:
        if count := other - at:
            some = slice(taken, taken + count)
            yield SampleLines(lines.ports[some], lines.arrival_ns[some], lines.fields[some]), int(starts[at])
        if other < ends.size:
            yield block[starts[other] : ends[other]], int(starts[other])
        at, taken = other + 1, taken + count


def _plain(block: bytes, shown: _Bytes, starts: Integers, ends: Integers) -> tuple[Integers, SampleLines]:
    """Read the plain sample lines among the records of a block: which ones they are, and what they hold."""
    spaces = np.flatnonzero(shown == ord(" "))
    first = np.searchsorted(spaces, starts)
    counts = np.diff(first, append=spaces.size)
    places = np.flatnonzero((counts == _SPACES) & (shown[starts] == ord("L")) & (ends - starts > 2 * _SPACES))
    between = spaces[first[places, None] + np.arange(_SPACES)]
    stars = ends[places] - 9
    foreign = np.searchsorted(np.flatnonzero(shown > 0x7F), (starts[places], ends[places]))
    is_sample = (
        (between[:, 0] == starts[places] + 1)
        & (shown[between[:, 3] - 1] == ord("s"))
        & (between[:, 3] == between[:, 2] + 2)
        & (shown[stars] == ord("*"))
        & (stars > between[:, 10])
        & (foreign[0] == foreign[1])
    )
    places, between, stars = places[is_sample], between[is_sample], stars[is_sample]
    arrival_ns, is_time = _numbers(shown, between[:, 0] + 1, between[:, 1], _TIME_DIGITS)
    columns = [
        _numbers(shown, begin + 1, end, _DIGITS)
        for begin, end in zip(between[:, 3:].T, [*between[:, 4:].T, stars], strict=True)
    ]
    fields = np.column_stack([numbers for numbers, _ in columns])
    is_sound = is_time & (arrival_ns >= 0) & np.all([is_number for _, is_number in columns], axis=0)
    is_sound &= np.all((fields >= _LOWEST) & (fields <= _HIGHEST), axis=1)
    is_sound &= _checksums(shown, stars) == [
        crc32(block[begin:end]) for begin, end in zip((between[:, 2] + 1).tolist(), stars.tolist(), strict=True)
    ]
    encoded = [block[begin:end] for begin, end in (between[is_sound, 1:3] + (1, 0)).tolist()]
    ports = {port: unquote(port.decode("ascii")) for port in set(encoded)}
    return places[is_sound], SampleLines([ports[port] for port in encoded], arrival_ns[is_sound], fields[is_sound])


def _numbers(shown: _Bytes, begins: Integers, ends: Integers, most: int) -> tuple[Integers, NDArray[np.bool_]]:
    """Read the number in each span of bytes, and whether it is one of at most so many digits, in its one spelling."""
    is_negative = shown[begins] == ord("-")
    begins = begins + is_negative
    digits = ends - begins
    leads = shown[begins]
    is_number = (digits >= 1) & (digits <= most) & ((leads != ord("0")) | ((digits == 1) & ~is_negative))
    value = np.zeros(begins.size, np.int64)
    for at in range(int(digits[is_number].max(initial=0))):
        digit = shown[np.minimum(begins + at, ends)].astype(np.int64) - ord("0")
        is_in = at < digits
        is_number &= ~is_in | ((digit >= 0) & (digit <= 9))
        value = np.where(is_in, 10 * value + digit, value)
    return np.where(is_negative, -value, value), is_number


def _checksums(shown: _Bytes, stars: Integers) -> Integers:
    """Read the eight hexadecimal digits after each star; what is none makes the value no checksum."""
    digits = _HEX[shown[stars[:, None] + np.arange(1, 9)]]
    value = digits @ (1 << np.arange(28, -1, -4))
    return np.where((digits < 0).any(axis=1), -1, value)
