"""Files that a kill or a power cut leaves old or new, never half.

Only ordinary files are read, and none beyond a length: a pipe would keep a reader waiting, a device has no end. That is
looked at once the file is open: before, another program could exchange it.
"""

from __future__ import annotations

import errno
import hashlib
import os
import secrets
import stat
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from time import perf_counter, sleep
from typing import BinaryIO

from hingeline import __version__
from hingeline.errors import DamagedFile, NewerFile, StoreError, in_words
from hingeline.files.names import check_name

FULL = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))  # Windows has no quota error
FORBIDDEN = (errno.EACCES, errno.EPERM, errno.EROFS)
ANOTHER_HOME = "name another folder with HINGELINE_HOME"
WINDOWS = sys.platform == "win32"
HELD_S, AGAIN_S = 2.0, 0.02
"""On Windows no file is replaced while another program has it open: a virus scanner has, for a moment after a save."""
QUEUE_S = 10.0
"""There a writer may wait itself, and the next is not the one that came first."""
TURN_S = 5.0
"""A writer takes milliseconds, on a busy computer a second. One that takes longer hangs or is stopped, and is waited
for no more."""
_FRESH = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0)


class Unfit(OSError):
    """A file that is not to be read, in words: it is no ordinary one, or too long."""

    def __init__(self, reason: str) -> None:
        super().__init__(0, reason)


@contextmanager
def open_ordinary(path: Path, most_bytes: int) -> Iterator[BinaryIO]:
    """Open a file for reading. Raises `OSError`, of which `Unfit`."""
    with open(path, "rb", opener=lambda name, flags: os.open(name, flags | getattr(os, "O_NONBLOCK", 0))) as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode):
            raise Unfit("it is no ordinary file")
        if status.st_size > most_bytes:
            raise Unfit(f"it is longer than {most_bytes} bytes")
        yield file


def read_ordinary(path: Path, most_bytes: int) -> bytes:
    """Read a file whole. Raises `OSError`, of which `Unfit`."""
    with open_ordinary(path, most_bytes) as file:
        return file.read(most_bytes)


def write_whole(
    path: Path, content: bytes | Callable[[], bytes], *, mode: int = 0o666, elsewhere: str = ANOTHER_HOME
) -> None:
    """Replace the file at `path` by `content`, on the disk when this returns; a link leads to the file it names.

    Several writers of a file write it in turn: content that is made of the old one is a function, called then. A
    killed one may leave another file beside it, which the next one removes. A device such as `/dev/stdout` is written
    directly. `mode` holds for a new file, less the user's mask; an old one keeps its own. `elsewhere` says what else
    the user could do if it can't be written there.

    Raises `StoreError` (it can't be written, or Windows can't hold its name; the old file is untouched).
    """
    if not path.is_file():
        check_name(path)
    path = path.resolve()
    try:
        if path.exists() and not path.is_file():
            with open(path, "wb", opener=_open_at_once) as device:
                device.write(content if isinstance(content, bytes) else content())
            return
        with in_turn(path.parent) as alone:
            if alone:
                sweep(path.parent, f".{path.name}.")
            new = content if isinstance(content, bytes) else content()
            ending = "new" if alone else "late"  # which no other writer takes for one that was left
            fresh = path.with_name(f".{path.name}.{secrets.token_hex(8)}.{ending}")
            try:
                with open(os.open(fresh, _FRESH, mode), "wb") as file:
                    if path.exists():
                        fresh.chmod(stat.S_IMODE(path.stat().st_mode))
                    file.write(new)
                    file.flush()
                    os.fsync(file.fileno())
                replace(fresh, path)
            except OSError:
                fresh.unlink(missing_ok=True)
                raise
            sync_folder(path.parent)
    except OSError as error:
        raise unwritable(path, error, elsewhere) from error


def _open_at_once(path: str, flags: int) -> int:
    """Open a device, or a pipe that somebody reads. Raises `OSError` where nobody does: who waits may wait for ever."""
    if sys.platform == "win32":
        return os.open(path, flags)
    descriptor = os.open(path, flags | os.O_NONBLOCK)
    os.set_blocking(descriptor, True)
    return descriptor


def replace(source: Path, target: Path) -> None:
    """Put a file in the place of another; on Windows, wait a moment for a program that has the other one open."""
    until_s = perf_counter() + HELD_S
    while True:
        try:
            return os.replace(source, target)
        except PermissionError:
            if not WINDOWS or perf_counter() > until_s:
                raise
        sleep(AGAIN_S)


@contextmanager
def in_turn(folder: Path) -> Iterator[bool]:
    """Wait until no other program writes a file in a folder; yield whether that is so.

    Not all systems and disks tell. The lock ends with its holder. It is on the folder itself, so it leaves no file; on
    Windows, which locks no folders, on a file among the temporary ones.
    """
    with ExitStack() as held:
        if sys.platform == "win32":
            yield _lock_named(folder, held)
        else:
            yield _lock_folder(folder, held)


def _lock_named(folder: Path, held: ExitStack) -> bool:
    from filelock import FileLock, Timeout

    name = hashlib.sha256(os.path.normcase(folder.resolve()).encode()).hexdigest()[:16]
    lock = FileLock(Path(tempfile.gettempdir()) / f"hingeline-{name}.lock")
    try:
        held.enter_context(lock.acquire(timeout=QUEUE_S, poll_interval=AGAIN_S))
    except (Timeout, OSError):
        return False
    return True


if sys.platform != "win32":

    def _lock_folder(folder: Path, held: ExitStack) -> bool:
        import fcntl

        descriptor = os.open(folder, os.O_RDONLY)
        held.callback(os.close, descriptor)
        until_s = perf_counter() + TURN_S
        while perf_counter() < until_s:
            try:
                fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
                return True
            except BlockingIOError:
                sleep(0.01)
            except OSError:
                break
        return False


def sweep(folder: Path, beginning: str = ".") -> None:
    """Remove the files that killed writers left in a folder; nobody may be writing there."""
    for name in os.listdir(folder):
        if name.startswith(beginning) and name.endswith(".new"):
            with suppress(OSError):
                (folder / name).unlink()


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, each on the disk when this returns."""
    if not folder.is_dir():
        make_folder(folder.parent)
        folder.mkdir(exist_ok=True)
        sync_folder(folder.parent)


def sync_folder(folder: Path) -> None:
    """Bring a folder's entries to the disk, where the system can."""
    if os.name == "posix":
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def unwritable(path: Path, error: OSError, elsewhere: str = ANOTHER_HOME) -> StoreError:
    """The error for a file that the system refuses to write; `elsewhere` as in `write_whole`."""
    if error.errno in FULL:
        reason, cure = "the disk is full", "Free some space and do it again"
    elif WINDOWS and error.errno in FORBIDDEN and path.is_file():
        reason, cure = "another program has it open, or it is read-only", f"Close what shows it, or {elsewhere}"
    elif error.errno in FORBIDDEN:
        reason, cure = "its folder is read-only for you", f"Make it writable, or {elsewhere}"
    elif error.errno == errno.ENOENT:
        reason, cure = "its folder does not exist", f"Make the folder, or {elsewhere}"
    else:
        reason, cure = in_words(error), elsewhere[0].upper() + elsewhere[1:]
    return StoreError(f"{path} was not written: {reason}", cure)


def unreadable(path: Path, error: OSError) -> StoreError:
    """The error for a file or folder that the system refuses to read, or of which nothing is to be read."""
    message = f"{path} can't be read: {in_words(error)}"
    if isinstance(error, Unfit):
        return DamagedFile(message, "hingeline did not write it: take it away, or name another")
    return StoreError(message, "Make it readable")


def newer(place: Path | str, form: int, known: int) -> NewerFile:
    """The error for a file of a format later than the last one that is `known`."""
    return NewerFile(
        f"{place} has format {form}, and this hingeline {__version__} knows up to {known}",
        "Bring hingeline up to date: `pip install --upgrade hingeline`",
    )
