"""The writer of a run: what is recorded is on the disk, or the person is told why not."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import tempfile
import threading
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache
from pathlib import Path
from time import perf_counter_ns
from typing import Any
from urllib.parse import quote

from hingeline import __version__
from hingeline.device.link.decoder import Line
from hingeline.errors import StoreError
from hingeline.files.whole import make_folder, sync_folder, unwritable
from hingeline.storage.last_events import note_event
from hingeline.storage.records import FORMAT, MOST_BYTES, MOST_RECORD_BYTES, RUN, mapped
from hingeline.storage.store import now_text

LEAST_FREE_BYTES = 1_000_000
"""Half of it is less than a minute of the usual stream: no run begins."""
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
                    "a run leaves half of the free space unused",
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
        note_event(text)
        self._record(b"E %d %s\n" % (perf_counter_ns(), text.encode()), sync=True)

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
        message, cure = f"{self.path} has grown to {self._bytes / 1e9:.1f} GB: no run may be longer", ""
        if self._most_bytes < MOST_BYTES:
            megabytes = f"{self._bytes / 1e6:.1f} MB, half of the space that was free"
            message = f"{self.path} has grown to {megabytes}: a run leaves the other half"
            cure = "; for a long run, make room on the disk first"
        return StoreError(message, f"Start again: that begins another run{cure}")


def _write(descriptor: int, data: bytes) -> None:
    while data:
        data = data[os.write(descriptor, data) :]


@cache
def _quoted(port: str) -> bytes:
    return quote(port, safe="/:").encode()


def _whole_bytes(descriptor: int) -> int:
    """How many bytes of a file are whole records."""
    if os.fstat(descriptor).st_size == 0:
        return 0
    with mapped(descriptor) as content:
        return content.rfind(b"\n") + 1
