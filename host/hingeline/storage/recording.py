"""Records a run: every line as it is received, and what happens, appended in order to one file (`records`).

Records are appended by one write, so a kill leaves at most the last one torn. A forgotten run does not fill the disk:
it takes `MOST_BYTES` at most, and of the room there is when it begins no more than half.
"""

from __future__ import annotations

import json
import mmap
import os
import shutil
import threading
from collections.abc import Iterable
from contextlib import suppress
from functools import cache
from pathlib import Path
from time import monotonic_ns
from typing import Any
from urllib.parse import quote

from hingeline import __version__
from hingeline.device.link.decoder import Line
from hingeline.errors import StoreError
from hingeline.storage.files import sync_folder, unwritable
from hingeline.storage.records import FORMAT, RUN
from hingeline.storage.store import now_text

MOST_BYTES = 4_000_000_000
"""More than a day of the usual stream of eight sensors; FAT32 keeps no file of 2³² bytes."""
LEAST_FREE_BYTES = 1_000_000
"""Half of it is less than a minute of that stream: no run begins."""


class Recorder:
    """Appends to the run at `path`; one that was cut off goes on after its last whole record.

    A context manager. Lines may come from several threads.

    Attributes
    ----------
    path
        Of the file.
    started
        Date and time, UTC, in ISO 8601.
    """

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
            flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._descriptor = os.open(self.path, flags, 0o644)
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
        """Append received lines.

        Raises
        ------
        StoreError
            The disk is full or fails, or the run is as long as one may be; what was recorded before is whole.
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
                # what fails to write may fail to shorten, too; reading drops a torn last record
                with suppress(OSError):
                    os.ftruncate(self._descriptor, self._bytes)
                raise unwritable(self.path, error) from error
            self._bytes += len(record)

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

    def _sync(self) -> None:
        try:
            os.fsync(self._descriptor)
        except OSError as error:
            raise unwritable(self.path, error) from error


@cache
def _quoted(port: str) -> bytes:
    return quote(port, safe="/:").encode()


def _whole_bytes(descriptor: int) -> int:
    """How many bytes of a file are whole records."""
    if os.fstat(descriptor).st_size == 0:
        return 0
    with mmap.mmap(descriptor, 0, access=mmap.ACCESS_READ) as content:
        return content.rfind(b"\n") + 1
