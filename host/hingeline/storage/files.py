"""Files that a kill or a power cut leaves old or new, never half; names that can't leave their folder."""

from __future__ import annotations

import errno
import os
import re
import stat
from pathlib import Path

from hingeline.errors import StoreError, in_words

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG) if hasattr(errno, "EDQUOT") else (errno.ENOSPC, errno.EFBIG)
FORBIDDEN = (errno.EACCES, errno.EPERM, errno.EROFS)
NAME_LIMIT = 80
ANOTHER_HOME = "name another folder with HINGELINE_HOME"


def write_whole(path: Path, content: bytes, *, mode: int = 0o666, elsewhere: str = ANOTHER_HOME) -> None:
    """Replace the file at `path` by `content`, on the disk when this returns; a link leads to the file it names.

    One writer of a file at a time; what a killed one left beside it, the next replaces. What is no file, such as
    `/dev/stdout`, is written as it stands.

    Parameters
    ----------
    mode
        Permissions of a file that was not there, less the user's mask; one that was there keeps its own.
    elsewhere
        What else the user could do if it can't be written there, as an instruction.

    Raises
    ------
    StoreError
        It can't be written; what was there before is untouched.
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
    """Take away what killed writers left in a folder; nobody may be writing there."""
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
    """Return the error for a file that the system does not let be written; `elsewhere` as in `write_whole`."""
    if error.errno in FULL:
        return StoreError(f"{path} was not written: the disk is full", "Free some space and do it again")
    if error.errno in FORBIDDEN:
        return StoreError(
            f"{path} was not written: its folder is read-only for you", f"Make it writable, or {elsewhere}"
        )
    if error.errno == errno.ENOENT:
        return StoreError(
            f"{path} was not written: its folder is not there", f"Make the folder, or {elsewhere}"
        )
    return StoreError(f"{path} was not written: {in_words(error)}", elsewhere[0].upper() + elsewhere[1:])


def safe_name(text: str) -> str:
    """Return `text` as a file name: letters, digits, `.`, `_` and `-`, no path, not hidden, not too long."""
    return re.sub(r"[^\w.-]+", "-", text).strip(".-")[:NAME_LIMIT] or "unnamed"
