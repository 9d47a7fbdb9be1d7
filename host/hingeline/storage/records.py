"""The file of a run: every line as it is received, and what happens, in order.

A record a line::

    E 812345678901234 {"kind": "run", "format": 2, ...}
    L 812345699123456 /dev/ttyACM0 board 1 1 0.1.0 pico e6614103e7 2*4D1F60A2

`L`: a received line, after the host's monotonic time in ns of its arrival and its port, percent-encoded.
`E`: an event, in JSON. The first one tells the date and the format.

Records are appended by one write, so a kill leaves at most the last one torn; it is dropped on reading. Events of
former formats are read in today's words. A forgotten run does not fill the disk: it takes `MOST_BYTES` at most, and of
the room there is when it begins no more than half.
"""

from __future__ import annotations

import json
import mmap
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, BinaryIO, NamedTuple, NoReturn, overload
from urllib.parse import unquote

from hingeline.device.link.decoder import Line, SampleLines
from hingeline.errors import DamagedFile, NotStored
from hingeline.files.whole import newer, open_ordinary, unreadable
from hingeline.storage.old_words import renew

FORMAT = 2
RUN = "run"
"""The kind of the first event."""
_BEGINS = (RUN, "session")
_TIME_DIGITS = 19
"""Of the host's monotonic clock in ns, which counts in 63 bits."""
MOST_RECORD_BYTES = 1_000_000
"""No record is so long: what another program wrote is not read to its end in search of one."""
LONG_BYTES = 32_000_000
"""Half an hour of the usual stream of eight sensors; reading it line by line takes a tenth of a second."""
_BLOCK_BYTES = 1 << 20
MOST_BYTES = 4_000_000_000
"""More than a day of the usual stream of eight sensors; FAT32 keeps no file of 2³² bytes."""


class Place(NamedTuple):
    """Where a record stands: its line, which is counted where only its first byte is known."""

    path: Path
    number: int = 0
    offset: int = 0

    def __str__(self) -> str:
        number = self.number
        if not number:
            with suppress(OSError), open_ordinary(self.path, MOST_BYTES) as file:
                number = file.read(self.offset).count(b"\n") + 1
        return f"{self.path}, line {number}"


class Happening(NamedTuple):
    """An event of a run: when on the host's monotonic clock, what, and what else belongs to it."""

    time_ns: int
    kind: str
    fields: dict[str, Any]


def read(path: Path) -> Iterator[Line | Happening]:
    """Iterate over the records of a run, which may be in the making; a torn last one is dropped.

    Raises `NotStored` (there is no run at `path`); `DamagedFile` (a record other than the last is malformed);
    `NewerFile` (a later hingeline wrote it).
    """
    return _parsed(_records(path))


def happenings(path: Path) -> Iterator[Happening]:
    """Iterate over the events alone; received lines are passed over unread, a GB in less than a second.

    Raises as `read`; in a file longer than `LONG_BYTES`, a malformed record without a brace is passed over, too.
    """
    is_long = path.is_file() and path.stat().st_size > LONG_BYTES
    events = _braced(path) if is_long else (each for each in _records(path) if not each[0].startswith(b"L "))
    return (event for event in _parsed(events) if isinstance(event, Happening))


def lines(path: Path) -> Iterator[Line]:
    """Iterate over the received lines alone: what `link.replay.Replay` takes. Raises as `read`."""
    return (record for record in read(path) if isinstance(record, Line))


def read_fast(path: Path) -> Iterator[Line | Happening | SampleLines]:
    """Iterate over the records of a run as `read`, in the same order; plain sample lines come many at once."""
    return _parsed(_cut(path))


def length_s(path: Path) -> float:
    """How long after its first record the last whole one of a run was written; 0 where its times can't be read."""
    try:
        with open_ordinary(path, MOST_BYTES) as file, mapped(file.fileno()) as content:
            last = content.rfind(b"\n", 0, content.rfind(b"\n")) + 1
            first_ns, last_ns = (_time_ns(content[at : at + 24].split(b" ")[1]) for at in (0, last))
    except (OSError, ValueError, LookupError):
        return 0.0
    return max(last_ns - first_ns, 0) / 1e9


@overload
def _parsed(records: Iterable[tuple[bytes, Place]]) -> Iterator[Line | Happening]: ...
@overload
def _parsed(records: Iterable[tuple[bytes, Place] | SampleLines]) -> Iterator[Line | Happening | SampleLines]: ...
def _parsed(records: Iterable[tuple[bytes, Place] | SampleLines]) -> Iterator[Line | Happening | SampleLines]:
    form = 1
    for record in records:
        parsed = record if isinstance(record, SampleLines) else _parse(*record)
        if isinstance(parsed, Happening):
            if parsed.kind in _BEGINS:
                form = parsed.fields["format"]
            if form == 1:
                parsed = Happening(parsed.time_ns, *renew(parsed.kind, parsed.fields))
        yield parsed


def _records(path: Path) -> Iterator[tuple[bytes, Place]]:
    """Iterate over the whole records of a run and where each stands. Raises as `read`."""
    with _opened(path) as file:
        records = iter(lambda: file.readline(MOST_RECORD_BYTES), b"")
        for number, record in enumerate(records, 1):
            if len(record) == MOST_RECORD_BYTES:
                raise _malformed(Place(path, number))
            if record.endswith(b"\n"):
                yield record[:-1], Place(path, number)


def _cut(path: Path) -> Iterator[tuple[bytes, Place] | SampleLines]:
    """As `_records`, but plain sample lines come many at once."""
    from hingeline.storage.plain import cut  # with the numerical stack: what looks for events alone does without

    with _opened(path) as file:
        rest, before = b"", 0
        while block := file.read(_BLOCK_BYTES):
            whole = (rest := rest + block).rfind(b"\n") + 1
            for record, offset in cut(rest[:whole]):
                place = Place(path, offset=before + offset)
                if len(record) >= MOST_RECORD_BYTES - 1 and isinstance(record, bytes):
                    raise _malformed(place)
                yield record if isinstance(record, SampleLines) else (record, place)
            rest, before = rest[whole:], before + whole
            if len(rest) >= MOST_RECORD_BYTES:
                raise _malformed(Place(path, offset=before))


def _braced(path: Path) -> Iterator[tuple[bytes, Place]]:
    """As `_records`, those alone that are no received line and have a brace, as all events do."""
    with _opened(path) as file:
        rest, before = b"", 0
        while block := file.read(_BLOCK_BYTES):
            block = rest + block
            whole, at = block.rfind(b"\n") + 1, 0
            while (brace := block.find(b"{", at, whole)) >= 0:
                begin, end = block.rfind(b"\n", at, brace) + 1 or at, block.index(b"\n", brace)
                at = end + 1
                if not block.startswith(b"L ", begin):
                    yield block[begin:end], Place(path, offset=before + begin)
            rest, before = block[whole:], before + whole
            if len(rest) > MOST_RECORD_BYTES:
                raise _malformed(Place(path, offset=before))


@contextmanager
def _opened(path: Path) -> Iterator[BinaryIO]:
    try:
        with open_ordinary(path, MOST_BYTES) as file:
            yield file
    except FileNotFoundError as error:
        raise no_run(path) from error
    except OSError as error:
        raise unreadable(path, error) from error


def no_run(path: Path) -> NotStored:
    """The error for a path at which there is no run."""
    return NotStored(f"There is no run at {path}", "Give the file of a run, or its session's folder")


def _parse(record: bytes, place: Place) -> Line | Happening:
    try:
        letter, time_ns, rest = record.split(b" ", 2)
        if letter == b"L":
            port, raw = rest.split(b" ", 1)
            return Line(unquote(port.decode("ascii")), _time_ns(time_ns), raw)
        fields = json.loads(rest, parse_constant=_refuse_number)
        happening = Happening(_time_ns(time_ns), fields.pop("kind"), fields)
        form = fields["format"] if happening.kind in _BEGINS else FORMAT
        if letter != b"E" or not isinstance(happening.kind, str) or not isinstance(form, int):
            raise ValueError(record)
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        raise _malformed(place) from error
    if form > FORMAT:
        raise newer(str(place), form, FORMAT)
    return happening


def _refuse_number(name: str) -> NoReturn:
    """Refuse `NaN` and `Infinity`, which JSON has not and no run is written with."""
    raise ValueError(name)


def _malformed(place: Place) -> DamagedFile:
    return DamagedFile(f"{place} is no record of a run", "Take the line out, and say so in its report")


def _time_ns(digits: bytes) -> int:
    if len(digits) > _TIME_DIGITS:
        raise ValueError(digits)
    return int(digits)


def mapped(descriptor: int) -> mmap.mmap:
    """The content of an open file, which has some."""
    return mmap.mmap(descriptor, 0, access=mmap.ACCESS_READ)
