"""What is told where a system refuses to write: errors by number, as POSIX.1-2017 names them in <errno.h>."""

import errno

import pytest

from hingeline.files import whole
from hingeline.files.whole import unwritable

FORBIDDEN = "its folder is read-only for you. Make it writable, or name another file"
HELD = "another program has it open, or it is read-only. Close what shows it, or name another file"

BROKEN = "the device gives an error or is gone"


@pytest.mark.parametrize(
    ("number", "told"),
    [
        (errno.ENOSPC, "the disk is full. Free some space and do it again"),
        (errno.EFBIG, "the disk is full. Free some space and do it again"),
        (errno.EACCES, FORBIDDEN),
        (errno.EPERM, FORBIDDEN),
        (errno.EROFS, FORBIDDEN),
        (errno.ENOENT, "its folder does not exist. Make the folder, or name another file"),
        (errno.EIO, f"{BROKEN}. Name another file"),
    ],
)
def test_a_refusal_says_why_and_what_to_do(tmp_path, monkeypatch, number, told):
    monkeypatch.setattr(whole, "WINDOWS", False)
    path = tmp_path / "page.html"
    path.write_bytes(b"old")
    error = unwritable(path, OSError(number, "as the system says it"), "name another file")
    assert str(error) == f"{path} was not written: {told}."


@pytest.mark.parametrize(
    ("is_there", "number", "told"),
    [(True, errno.EACCES, HELD), (False, errno.EACCES, FORBIDDEN), (True, errno.EIO, f"{BROKEN}. Name another file")],
)
def test_windows_forbids_to_replace_a_file_that_is_open(tmp_path, monkeypatch, is_there, number, told):
    """Windows gives the same error for a folder that is read-only and for a file that another program has open."""
    monkeypatch.setattr(whole, "WINDOWS", True)
    path = tmp_path / "page.html"
    if is_there:
        path.write_bytes(b"old")
    error = unwritable(path, OSError(number, "as the system says it"), "name another file")
    assert str(error) == f"{path} was not written: {told}."
