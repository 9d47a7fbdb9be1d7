"""Files that a kill or a power cut leaves old or new, never half; names that can't leave their folder."""

from __future__ import annotations

import errno
import os
import re
import stat
from pathlib import Path

from hingeline import __version__
from hingeline.errors import NewerFile, StoreError, in_words

FULL = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))  # Windows has no quota error
FORBIDDEN = (errno.EACCES, errno.EPERM, errno.EROFS)
NAME_LIMIT = 80
ANOTHER_HOME = "name another folder with HINGELINE_HOME"


def write_whole(path: Path, content: bytes, *, mode: int = 0o666, elsewhere: str = ANOTHER_HOME) -> None:
    """Replace the file at `path` by `content`, on the disk when this returns; a link leads to the file it names.

    One writer of a file at a time; a killed one may leave another file beside it, which the next one replaces. A device
    such as `/dev/stdout` is written directly. `mode` holds for a new file, less the user's mask; an old one keeps its
    own. `elsewhere` says what else the user could do if it can't be written there.

    Raises `StoreError` (it can't be written; the old file is untouched).
    """
    path = path.resolve()
    fresh = path.with_name(f".{path.name}.new")
    try:
        if path.exists() and not path.is_file():
            path.write_bytes(content)
            return
        try:
            with open(fresh, "wb", opener=lambda name, flags: os.open(name, flags, mode)) as file:
                if path.exists():
                    fresh.chmod(stat.S_IMODE(path.stat().st_mode))
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(fresh, path)
        except OSError:
            fresh.unlink(missing_ok=True)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise unwritable(path, error, elsewhere) from error


def sweep(folder: Path) -> None:
    """Remove the files that killed writers left in a folder; nobody may be writing there."""
    for left in folder.glob(".*.new"):
        left.unlink()


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
    elif error.errno in FORBIDDEN:
        reason, cure = "its folder is read-only for you", f"Make it writable, or {elsewhere}"
    elif error.errno == errno.ENOENT:
        reason, cure = "its folder does not exist", f"Make the folder, or {elsewhere}"
    else:
        reason, cure = in_words(error), elsewhere[0].upper() + elsewhere[1:]
    return StoreError(f"{path} was not written: {reason}", cure)


def unreadable(path: Path, error: OSError) -> StoreError:
    """The error for a file or folder that the system refuses to read."""
    return StoreError(f"{path} can't be read: {in_words(error)}", "Make it readable")


def newer(place: Path | str, form: int, known: int) -> NewerFile:
    """The error for a file of a format later than the last one that is `known`."""
    return NewerFile(
        f"{place} has format {form}, and this hingeline {__version__} knows up to {known}",
        "Bring hingeline up to date: `pip install --upgrade hingeline`",
    )


def safe_name(text: str) -> str:
    """Make a file name of `text`: letters, digits, `.`, `_` and `-`, no path, not hidden, not too long."""
    return re.sub(r"[^\w.-]+", "-", text).strip(".-")[:NAME_LIMIT] or "unnamed"
