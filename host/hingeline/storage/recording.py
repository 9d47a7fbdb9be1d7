"""A session on disk: every line as it was received, and what happened, appended in order.

A folder holds one file, `session.log`, a record a line::

    E 812345678901234 {"kind": "session", "format": 1, ...}
    L 812345699123456 /dev/ttyACM0 board 1 1 0.1.0 pico e6614103e7 2*4D1F60A2

`L`: a received line, after the host's monotonic time in ns of its arrival and its port, percent-encoded.
`E`: an event, in JSON. Records are appended by one write, so a kill leaves at most the last one torn; it is
dropped on reading. The first event tells the date and the format.

A forgotten session does not fill the disk: it takes `MOST_BYTES` at most, and of the room there is when it begins
no more than half.
"""

from __future__ import annotations

import json
import mmap
import os
import shutil
import threading
from collections.abc import Iterable, Iterator
from datetime import datetime, timezone
from functools import cache
from pathlib import Path
from time import monotonic_ns
from typing import Any, NamedTuple, NoReturn
from urllib.parse import quote, unquote

from hingeline import __version__
from hingeline.device.link.decoder import Line
from hingeline.errors import DamagedFile, NewerFile, NotStored, StoreError, in_words
from hingeline.storage.files import make_folder, safe_name, sync_folder, unwritable
from hingeline.storage.old_words import renew

FORMAT = 2
FILE = "session.log"
_TIME_DIGITS = 19
"""Of the host's monotonic clock in ns, which counts in 63 bits."""
MOST_RECORD_BYTES = 1_000_000
"""No record is so long: what another program wrote is not read to its end in search of one."""
MOST_BYTES = 4_000_000_000
"""More than a day of the usual stream of eight sensors; FAT32 keeps no file of 2³² bytes."""
LEAST_FREE_BYTES = 1_000_000
"""Half of it is less than a minute of that stream: no session begins."""


class Happening(NamedTuple):
    """An event of a session: when on the host's monotonic clock, what, and what else belongs to it."""

    time_ns: int
    kind: str
    fields: dict[str, Any]


def new_session(root: Path, aircraft: str) -> Path:
    """Make and return the folder of a session that begins now.

    Raises
    ------
    StoreError
        It can't be made.
    """
    above = root / "sessions" / safe_name(aircraft)
    name = datetime.now().strftime("%Y-%m-%d_%H-%M-%S")
    try:
        make_folder(above)
        for number in range(1, 1000):
            folder = above / (name if number == 1 else f"{name}_{number}")
            try:
                folder.mkdir()
            except FileExistsError:
                continue
            sync_folder(above)
            return folder
    except OSError as error:
        raise unwritable(above, error) from error
    raise StoreError(f"{above} holds a thousand sessions of this second", "Wait a second")


def next_number(folder: Path) -> int:
    """Return the number of a session that begins in `folder`: one more than any beside it.

    It orders the sessions of an aircraft, not their dates: a clock may be set back.
    """
    return 1 + max((_number(path.parent) for path in folder.parent.glob(f"*/{FILE}")), default=0)


def _number(folder: Path) -> int:
    try:
        first = next(read(folder), None)
    except StoreError:  # told where sessions are listed
        return 0
    number = first.fields.get("number") if isinstance(first, Happening) else None
    return number if isinstance(number, int) else 0


class Recorder:
    """Appends to the session in `folder`; one that was cut off goes on after its last whole record.

    A context manager. Lines may come from several threads.

    Attributes
    ----------
    path
        Of the file.
    started
        Date and time, UTC, in ISO 8601.
    """

    def __init__(self, folder: Path, **fields: Any) -> None:
        self.path = folder / FILE
        self._lock = threading.Lock()
        try:
            free_bytes = shutil.disk_usage(folder).free
            if free_bytes < LEAST_FREE_BYTES:
                raise StoreError(
                    f"The disk of {self.path} is nearly full, {free_bytes / 1e6:.1f} MB are free: "
                    "a session leaves half of the room it finds",
                    "Make room on it, then start again",
                )
            flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._descriptor = os.open(self.path, flags, 0o644)
            self._bytes = _whole_bytes(self._descriptor)
            os.ftruncate(self._descriptor, self._bytes)
            sync_folder(folder)
            self._most_bytes = min(MOST_BYTES, self._bytes + free_bytes // 2)
        except OSError as error:
            raise unwritable(self.path, error) from error
        self.started = datetime.now(timezone.utc).isoformat(timespec="seconds")
        self.event("session", format=FORMAT, hingeline=__version__, started=self.started, **fields)

    def __enter__(self) -> Recorder:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    def lines(self, received: Iterable[Line]) -> None:
        """Append received lines.

        Raises
        ------
        StoreError
            The disk is full, or the session is as long as one may be; what was recorded before is whole.
        """
        self._append(
            b"".join(
                b"L %d %s %s\n" % (line.arrival_ns, _quoted(line.port), line.raw.rstrip(b"\r\n"))
                for line in received
            )
        )

    def event(self, kind: str, **fields: Any) -> None:
        """Append an event with fields that JSON can hold, and bring all so far to the disk.

        Raises
        ------
        StoreError
            As `lines`.
        """
        text = json.dumps({"kind": kind, **fields}, allow_nan=False)
        self._append(b"E %d %s\n" % (monotonic_ns(), text.encode()))
        self._sync()

    def close(self) -> None:
        """Bring all to the disk and let the file go."""
        try:
            self._sync()
        finally:
            os.close(self._descriptor)

    def _append(self, record: bytes) -> None:
        """Write records; those that do not fit are taken back."""
        with self._lock:
            try:
                if self._bytes + len(record) > self._most_bytes:
                    raise self._long_enough()
                rest = record
                while rest:
                    rest = rest[os.write(self._descriptor, rest) :]
            except OSError as error:
                os.ftruncate(self._descriptor, self._bytes)
                raise unwritable(self.path, error) from error
            self._bytes += len(record)

    def _long_enough(self) -> StoreError:
        if self._most_bytes < MOST_BYTES:
            return StoreError(
                f"{self.path} has grown to {self._bytes / 1e6:.1f} MB, half of the room that its disk had: "
                "a session leaves the other half",
                "Start again: that begins another session; for a long one make room on the disk first",
            )
        return StoreError(
            f"{self.path} has grown to {self._bytes / 1e9:.1f} GB: of a session no more is kept",
            "Start again: that begins another session",
        )

    def _sync(self) -> None:
        try:
            os.fsync(self._descriptor)
        except OSError as error:
            raise unwritable(self.path, error) from error


def read(folder: Path) -> Iterator[Line | Happening]:
    """Iterate over the records of a session, which may be in the making; a torn last one is dropped.

    Raises
    ------
    NotStored
        There is no session in `folder`.
    DamagedFile
        A record before the last is none.
    NewerFile
        A later hingeline wrote it.
    """
    return _parsed(_records(folder))


def happenings(folder: Path) -> Iterator[Happening]:
    """Iterate over the events alone; received lines are passed over unread, which is faster. Raises as `read`."""
    events = ((record, place) for record, place in _records(folder) if not record.startswith(b"L "))
    return (event for event in _parsed(events) if isinstance(event, Happening))


def _parsed(records: Iterable[tuple[bytes, str]]) -> Iterator[Line | Happening]:
    """Parse records; events of former formats are said in today's words."""
    form = 1
    for record, place in records:
        parsed = _parse(record, place)
        if isinstance(parsed, Happening):
            if parsed.kind == "session":
                form = parsed.fields["format"]
            elif form == 1:
                parsed = Happening(parsed.time_ns, *renew(parsed.kind, parsed.fields))
        yield parsed


def _records(folder: Path) -> Iterator[tuple[bytes, str]]:
    """Iterate over the records of a session and where each stands. Raises as `read`."""
    path = folder / FILE
    try:
        with open(path, "rb") as file:
            records = iter(lambda: file.readline(MOST_RECORD_BYTES), b"")
            for number, record in enumerate(records, 1):
                if len(record) == MOST_RECORD_BYTES:
                    raise _no_record(f"{path}, line {number}")
                if record.endswith(b"\n"):
                    yield record[:-1], f"{path}, line {number}"
    except FileNotFoundError as error:
        raise NotStored(f"There is no session in {folder}", "Give the folder of a session") from error
    except OSError as error:
        raise StoreError(f"{path} can't be read: {in_words(error)}", "Make it readable") from error


def lines(folder: Path) -> Iterator[Line]:
    """Iterate over the received lines alone: what `link.replay.Replay` takes. Raises as `read`."""
    return (record for record in read(folder) if isinstance(record, Line))


@cache
def _quoted(port: str) -> bytes:
    return quote(port, safe="/:").encode()


def _parse(record: bytes, place: str) -> Line | Happening:
    try:
        letter, time_ns, rest = record.split(b" ", 2)
        if letter == b"L":
            port, raw = rest.split(b" ", 1)
            return Line(unquote(port.decode("ascii")), _time_ns(time_ns), raw)
        fields = json.loads(rest, parse_constant=_no_number)
        happening = Happening(_time_ns(time_ns), fields.pop("kind"), fields)
        form = fields["format"] if happening.kind == "session" else FORMAT
        if letter != b"E" or not isinstance(happening.kind, str) or not isinstance(form, int):
            raise ValueError(record)
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        raise _no_record(place) from error
    if form > FORMAT:
        raise NewerFile(
            f"{place}: the session has format {form}, and this hingeline {__version__} knows up to {FORMAT}",
            "Bring hingeline up to date: `pip install --upgrade hingeline`",
        )
    return happening


def _no_number(name: str) -> NoReturn:
    """Refuse `NaN` and `Infinity`, which JSON has not and no session is written with."""
    raise ValueError(name)


def _no_record(place: str) -> DamagedFile:
    return DamagedFile(f"{place} is no record of a session", "Take the line out, and say so in its report")


def _time_ns(digits: bytes) -> int:
    if len(digits) > _TIME_DIGITS:
        raise ValueError(digits)
    return int(digits)


def _whole_bytes(descriptor: int) -> int:
    """Return how many bytes of a file are whole records."""
    if os.fstat(descriptor).st_size == 0:
        return 0
    with mmap.mmap(descriptor, 0, access=mmap.ACCESS_READ) as content:
        return content.rfind(b"\n") + 1
