"""Where calibrations, the datum and settings live: numbered files, the last is current, none is overwritten.

::

    <root>/calibration/<sensor id>/calibration-0007-2026-05-17.json
    <root>/datum/<name>/datum-0001-2026-05-17.json
    <root>/sessions/<aircraft>/<date-time>/          (see `sessions`)
    <root>/index.json                                what each run is of (see `index`); may be removed
    <root>/lock, <root>/holder                       while it is written, and by whom

The number orders the files, not the date: a clock may be set back.
"""

from __future__ import annotations

import errno
import os
import re
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import platformdirs

from hingeline import __version__
from hingeline.errors import NotStored, StoreLocked
from hingeline.files.names import safe_name
from hingeline.files.whole import make_folder, read_ordinary, sweep, unreadable, unwritable, write_whole
from hingeline.storage.sealed import HOW_TO_GET, MOST_BYTES, seal, unseal

if TYPE_CHECKING:
    from filelock import BaseFileLock

SESSION = timedelta(hours=12)
"""A run that begins later than this after the last record begins another session: the sensors were off meanwhile."""
LOCK_PATIENCE_S = 2.0
"""A save takes milliseconds: a process that holds the store for longer hangs, or is stopped."""


class Entry(NamedTuple):
    """One saved file: the number counts the saves of its kind and key from 1, the day is ISO 8601."""

    number: int
    day: str
    path: Path


def default_root() -> Path:
    """The folder named by HINGELINE_HOME, else the system's place for a user's data."""
    named = os.environ.get("HINGELINE_HOME")
    if named:
        return Path(named)
    # the Python of Microsoft's Store keeps files in another folder than it says: the true one is named
    folder = platformdirs.user_data_path("hingeline", appauthor=False)
    return folder.resolve() if sys.platform == "win32" else folder


def now_text() -> str:
    """The date and time, UTC, in ISO 8601."""
    return datetime.now(timezone.utc).isoformat(timespec="seconds")


def same_session(then: str, now: str) -> bool:
    """Whether two dates in ISO 8601 are of one session; what a file tells in another form is of none."""
    try:
        return abs(datetime.fromisoformat(now) - datetime.fromisoformat(then)) < SESSION
    except (ValueError, TypeError):
        return False


class Store:
    """What is kept for each kind (`calibration`, `datum`, `settings`) and key (a sensor id, or a name)."""

    def __init__(self, root: Path | None = None) -> None:
        self.root = default_root() if root is None else root

    def save(self, kind: str, key: str, payload: dict[str, Any], *, mode: int = 0o666) -> Entry:
        """Keep `payload`, which JSON can hold, as the current one; `mode` as for `files.write_whole`.

        Raises `StoreLocked` (another process saves, and does not come to an end); `StoreError` (the disk is full or the
        folder read-only; the former one stays current).
        """
        with self.locked():
            number = 1 + max((entry.number for entry in self.history(kind, key)), default=0)
            now, folder = now_text(), self._folder(kind, key)
            path = folder / f"{safe_name(kind)}-{number:04d}-{now[:10]}.json"
            try:
                make_folder(folder)
                sweep(folder)
            except OSError as error:
                raise unwritable(path, error) from error
            stamp = {"number": number, "saved": now, "hingeline": __version__}
            write_whole(path, seal(kind, key, payload, indent=1, **stamp), mode=mode)
            return Entry(number, now[:10], path)

    def load(self, kind: str, key: str, number: int | None = None) -> dict[str, Any]:
        """Read what `find` finds. Raises as that, and `NotStored` where there is none."""
        if (payload := self.find(kind, key, number)) is None:
            raise self._nothing(kind, key, number)
        return payload

    def find(self, kind: str, key: str, number: int | None = None) -> dict[str, Any] | None:
        """Read the current payload, or the one with that number; None where there is none.

        Raises `DamagedFile` (the file was edited or is torn, or belongs to another key); `NewerFile` (a later hingeline
        wrote it).
        """
        paths = [entry.path for entry in self.history(kind, key) if number in (None, entry.number)]
        if not paths:
            return None
        path = paths[-1]
        try:
            return unseal(read_ordinary(path, MOST_BYTES), path, kind, key)
        except OSError as error:
            raise unreadable(path, error) from error

    def _nothing(self, kind: str, key: str, number: int | None) -> NotStored:
        name = f"{kind} number {number}" if number else kind
        return NotStored(f"There is no {name} of {key} in {self.root}", HOW_TO_GET.get(kind, "Save one first"))

    def keys(self, kind: str) -> tuple[str, ...]:
        """List every key of which something was saved."""
        return tuple(sorted(_names(self.root / safe_name(kind))))

    def history(self, kind: str, key: str) -> tuple[Entry, ...]:
        """List all saves, the current one last."""
        pattern = re.compile(re.escape(safe_name(kind)) + r"-(\d+)-(\d{4}-\d{2}-\d{2})\.json")
        folder = self._folder(kind, key)
        matches = filter(None, map(pattern.fullmatch, _names(folder)))
        return tuple(sorted(Entry(int(match[1]), match[2], folder / match[0]) for match in matches))

    def last_day(self, kind: str, key: str) -> str | None:
        """The date of the last save; None where there is none."""
        entries = self.history(kind, key)
        return entries[-1].day if entries else None

    def _folder(self, kind: str, key: str) -> Path:
        return self.root / safe_name(kind) / safe_name(key)

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Hold the store against other processes; the system frees it when this one ends, however it ends.

        Raises `StoreLocked` where another process holds it for too long, `StoreError` where it can't be written.
        """
        from filelock import FileLock, Timeout

        lock, holder = self.root / "lock", self.root / "holder"
        command = " ".join([Path(sys.argv[0]).name, *sys.argv[1:]])
        with ExitStack() as held:
            try:
                make_folder(self.root)
                held.callback(_release, FileLock(lock, timeout=LOCK_PATIENCE_S).acquire().lock)
                holder.unlink(missing_ok=True)
                holder.write_text(f"process {os.getpid()} ({command})", errors="replace")
            except Timeout as error:
                name = "another process"
                with suppress(OSError):
                    name = read_ordinary(holder, MOST_BYTES).decode(errors="replace")
                text = f"{self.root} is held by {name}"
                raise StoreLocked(text, "Let it finish or end it, then try again") from error
            except (OSError, NotImplementedError) as error:  # some network disks support no locks
                cause = error if isinstance(error, OSError) else OSError(errno.ENOSYS, "it supports no locks")
                raise unwritable(lock, cause) from error
            yield


def _release(lock: BaseFileLock) -> None:
    """Let a lock go. A disk that refuses takes nothing back: what was saved is whole, and the lock ends with us."""
    with suppress(OSError):
        lock.release()


def _names(folder: Path) -> list[str]:
    try:
        return os.listdir(folder)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise unreadable(folder, error) from error
