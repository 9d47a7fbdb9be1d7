"""Files that a kill or a power cut leaves old or new, never half; names that can't leave their folder."""

from __future__ import annotations

import errno
import os
import re
from pathlib import Path

from hingeline.errors import StoreError

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG) if hasattr(errno, "EDQUOT") else (errno.ENOSPC, errno.EFBIG)
FORBIDDEN = (errno.EACCES, errno.EPERM, errno.EROFS)
NAME_LIMIT = 80


def write_whole(path: Path, content: bytes) -> None:
    """Replace the file at `path` by `content`, on the disk when this returns.

    One writer of a file at a time; what a killed one left beside it, the next replaces.

    Raises
    ------
    StoreError
        It can't be written; what was there before is untouched.
    """
    fresh = path.with_name(f".{path.name}.new")
    try:
        make_folder(path.parent)
        try:
            with open(fresh, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            os.replace(fresh, path)
        except OSError:
            fresh.unlink(missing_ok=True)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise unwritable(path, error) from error


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


def unwritable(path: Path, error: OSError) -> StoreError:
    """Return the error for a file that the system does not let be written."""
    if error.errno in FULL:
        return StoreError(f"{path} was not written: the disk is full", "Free some space and do it again")
    if error.errno in FORBIDDEN:
        return StoreError(
            f"{path} was not written: its folder is read-only for you",
            "Make it writable, or name another folder with HINGELINE_HOME",
        )
    return StoreError(f"{path} was not written: {error.strerror}", "Name another folder with HINGELINE_HOME")


def safe_name(text: str) -> str:
    """Return `text` as a file name: letters, digits, `.`, `_` and `-`, no path, not hidden, not too long."""
    return re.sub(r"[^\w.-]+", "-", text).strip(".-")[:NAME_LIMIT] or "unnamed"
