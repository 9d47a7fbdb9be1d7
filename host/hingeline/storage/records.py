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
import os
import secrets
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from functools import cache
from pathlib import Path
from time import monotonic_ns
from typing import Any, NamedTuple, NoReturn
from urllib.parse import quote, unquote

from hingeline import __version__
from hingeline.device.link.decoder import Line
from hingeline.errors import DamagedFile, NotStored, StoreError
from hingeline.files.whole import make_folder, newer, open_ordinary, sync_folder, unreadable, unwritable
from hingeline.storage.old_words import renew
from hingeline.storage.store import now_text

FORMAT = 2
RUN = "run"
"""The kind of the first event."""
_BEGINS = (RUN, "session")
_TIME_DIGITS = 19
"""Of the host's monotonic clock in ns, which counts in 63 bits."""
MOST_RECORD_BYTES = 1_000_000
"""No record is so long: what another program wrote is not read to its end in search of one."""
MOST_BYTES = 4_000_000_000
"""More than a day of the usual stream of eight sensors; FAT32 keeps no file of 2³² bytes."""
LEAST_FREE_BYTES = 1_000_000
"""Half of it is less than a minute of that stream: no run begins."""
_FLAGS = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)


class Recorder:
    """Appends to the run at `path`, begun at `started` (UTC, ISO 8601); one that was cut off goes on.

    A context manager. Lines may come from several threads. Everything it does raises `StoreError` where the disk is
    full or fails, or the run is as long as one may be; what was recorded before is whole. So that a measurement goes
    on that can't be recorded any further, `on_failure` is given the first such error instead, in the thread that had
    something to record; then nothing is recorded. A run that is removed while it is recorded goes on in another file,
    with all that was recorded before, and `on_removed` is told so.
    """

    on_failure: Callable[[StoreError], None] | None = None
    on_removed: Callable[[str], None] = staticmethod(lambda text: None)
    _has_failed = False

    def __init__(self, path: Path, **fields: Any) -> None:
        self.path = path
        self._lock = threading.Lock()
        try:
            free_bytes = shutil.disk_usage(path.parent).free
            if free_bytes < LEAST_FREE_BYTES:
                raise StoreError(
                    f"The disk of {self.path} is nearly full, {free_bytes / 1e6:.1f} MB are free: "
                    "a run leaves half of the room it finds",
                    "Make room on it, then start again",
                )
            self._descriptor = os.open(path, _FLAGS, 0o644)
            self._bytes = _whole_bytes(self._descriptor)
            os.ftruncate(self._descriptor, self._bytes)
            sync_folder(path.parent)
            self._most_bytes = min(MOST_BYTES, self._bytes + free_bytes // 2)
        except OSError as error:
            raise unwritable(self.path, error) from error
        self.started = now_text()
        self.event(RUN, format=FORMAT, hingeline=__version__, started=self.started, **fields)

    def __enter__(self) -> Recorder:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    def lines(self, received: Iterable[Line]) -> None:
        """Append received lines."""
        records = (
            b"L %d %s %s\n" % (line.arrival_ns, _quoted(line.port), line.raw.rstrip(b"\r\n")) for line in received
        )
        self._record(b"".join(records))

    def event(self, kind: str, **fields: Any) -> None:
        """Append an event with fields that JSON can hold, and bring all so far to the disk."""
        text = json.dumps({"kind": kind, **fields}, allow_nan=False)
        self._record(b"E %d %s\n" % (monotonic_ns(), text.encode()), sync=True)

    def close(self) -> None:
        """Bring all to the disk and let the file go."""
        try:
            os.fsync(self._descriptor)
        except OSError as error:
            raise unwritable(self.path, error) from error
        finally:
            os.close(self._descriptor)

    def _record(self, record: bytes, *, sync: bool = False) -> None:
        removed = ""
        try:
            with self._lock:
                if self._has_failed:
                    return
                try:
                    if self._is_removed():
                        removed = self._go_on_elsewhere()
                    self._append(record)
                    if sync:
                        os.fsync(self._descriptor)
                except OSError as error:
                    raise unwritable(self.path, error) from error
        except StoreError as problem:
            if self.on_failure is None:
                raise
            with self._lock:
                is_first, self._has_failed = not self._has_failed, True
            if is_first:
                self.on_failure(problem)
        if removed:
            self.on_removed(removed)

    def _append(self, record: bytes) -> None:
        """Write records; those that do not fit are taken back."""
        if self._bytes + len(record) > self._most_bytes:
            raise self._long_enough()
        try:
            _write(self._descriptor, record)
        except OSError:
            # what fails to write may fail to shorten, too; reading drops a torn last record
            with suppress(OSError):
                os.ftruncate(self._descriptor, self._bytes)
            raise
        self._bytes += len(record)

    def _is_removed(self) -> bool:
        """Whether the system would go on writing where nobody finds it again."""
        try:
            return not os.path.samestat(os.stat(self.path), os.fstat(self._descriptor))
        except OSError:
            return True

    def _go_on_elsewhere(self) -> str:
        """Make the file anew, with all that was recorded: where it was, else where the user works, else for a while."""
        old, left = self.path, self._descriptor
        for folder in (old.parent, Path.cwd(), Path(tempfile.gettempdir())):
            path = folder / (old.name if folder == old.parent else f"{old.stem}-{secrets.token_hex(4)}.log")
            with suppress(OSError):
                make_folder(folder)
                self._descriptor = os.open(path, _FLAGS | os.O_EXCL, 0o644)
                os.lseek(left, 0, os.SEEK_SET)
                while piece := os.read(left, MOST_RECORD_BYTES):
                    _write(self._descriptor, piece)
                sync_folder(folder)
                os.close(left)
                self.path = path
                return f"{old} was removed while it was recorded. All of it is recorded in {path}."
        self._descriptor = left
        raise StoreError(f"{old} was removed while it was recorded", "Start again, and leave the folder where it is")

    def _long_enough(self) -> StoreError:
        if self._most_bytes < MOST_BYTES:
            return StoreError(
                f"{self.path} has grown to {self._bytes / 1e6:.1f} MB, half of the room that its disk had: "
                "a run leaves the other half",
                "Start again: that begins another run; for a long one make room on the disk first",
            )
        return StoreError(
            f"{self.path} has grown to {self._bytes / 1e9:.1f} GB: of a run no more is kept",
            "Start again: that begins another run",
        )


def _write(descriptor: int, data: bytes) -> None:
    while data:
        data = data[os.write(descriptor, data) :]


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
    """Iterate over the events alone; received lines are passed over unread, which is faster. Raises as `read`."""
    events = ((record, place) for record, place in _records(path) if not record.startswith(b"L "))
    return (event for event in _parsed(events) if isinstance(event, Happening))


def lines(path: Path) -> Iterator[Line]:
    """Iterate over the received lines alone: what `link.replay.Replay` takes. Raises as `read`."""
    return (record for record in read(path) if isinstance(record, Line))


def length_s(path: Path) -> float:
    """How long after its first record the last whole one of a run was written; 0 where its times can't be read."""
    try:
        with open_ordinary(path, MOST_BYTES) as file, _mapped(file.fileno()) as content:
            last = content.rfind(b"\n", 0, content.rfind(b"\n")) + 1
            first_ns, last_ns = (_time_ns(content[at : at + 24].split(b" ")[1]) for at in (0, last))
    except (OSError, ValueError, LookupError):
        return 0.0
    return max(last_ns - first_ns, 0) / 1e9


def _parsed(records: Iterable[tuple[bytes, str]]) -> Iterator[Line | Happening]:
    form = 1
    for record, place in records:
        parsed = _parse(record, place)
        if isinstance(parsed, Happening):
            if parsed.kind in _BEGINS:
                form = parsed.fields["format"]
            if form == 1:
                parsed = Happening(parsed.time_ns, *renew(parsed.kind, parsed.fields))
        yield parsed


def _records(path: Path) -> Iterator[tuple[bytes, str]]:
    """Iterate over the whole records of a run and where each stands. Raises as `read`."""
    try:
        with open_ordinary(path, MOST_BYTES) as file:
            records = iter(lambda: file.readline(MOST_RECORD_BYTES), b"")
            for number, record in enumerate(records, 1):
                if len(record) == MOST_RECORD_BYTES:
                    raise _malformed(f"{path}, line {number}")
                if record.endswith(b"\n"):
                    yield record[:-1], f"{path}, line {number}"
    except FileNotFoundError as error:
        raise no_run(path) from error
    except OSError as error:
        raise unreadable(path, error) from error


def no_run(path: Path) -> NotStored:
    """The error for a path at which there is no run."""
    return NotStored(f"There is no run at {path}", "Give the file of a run, or its session's folder")


def _parse(record: bytes, place: str) -> Line | Happening:
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
        raise newer(place, form, FORMAT)
    return happening


def _refuse_number(name: str) -> NoReturn:
    """Refuse `NaN` and `Infinity`, which JSON has not and no run is written with."""
    raise ValueError(name)


def _malformed(place: str) -> DamagedFile:
    return DamagedFile(f"{place} is no record of a run", "Take the line out, and say so in its report")


def _time_ns(digits: bytes) -> int:
    if len(digits) > _TIME_DIGITS:
        raise ValueError(digits)
    return int(digits)


@cache
def _quoted(port: str) -> bytes:
    return quote(port, safe="/:").encode()


def _whole_bytes(descriptor: int) -> int:
    """How many bytes of a file are whole records."""
    if os.fstat(descriptor).st_size == 0:
        return 0
    with _mapped(descriptor) as content:
        return content.rfind(b"\n") + 1


def _mapped(descriptor: int) -> mmap.mmap:
    return mmap.mmap(descriptor, 0, access=mmap.ACCESS_READ)
