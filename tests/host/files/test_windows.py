"""Files as Windows keeps them: held by other programs, devices by name, folders that can't be locked."""

import errno
import os
import sys
import tempfile
import threading

import pytest

from hingeline.errors import StoreError
from hingeline.files import whole
from hingeline.files.whole import in_turn, write_whole


@pytest.fixture
def windows(monkeypatch):
    """This system is Windows to the room of files."""
    monkeypatch.setattr(whole, "WINDOWS", True)


@pytest.fixture(params=[sys.platform, "win32"])
def system(request, monkeypatch):
    """This system, and one that locks no folders."""
    monkeypatch.setattr(sys, "platform", request.param)


@pytest.fixture
def hold(monkeypatch):
    """A function that has another program hold every file for so many attempts to replace it."""
    ordinary, left = os.replace, []

    def replace(source, target):
        if left:
            left.pop()
            raise PermissionError(errno.EACCES, "The process cannot access the file")
        ordinary(source, target)

    monkeypatch.setattr(os, "replace", replace)
    return lambda times: left.extend(range(times))


def test_a_file_that_a_virus_scanner_holds_is_waited_for(windows, hold, tmp_path):
    (tmp_path / "page.html").write_bytes(b"old")
    hold(5)
    write_whole(tmp_path / "page.html", b"new")
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"new"]


def test_a_file_that_stays_open_elsewhere_is_told_and_stays(windows, hold, tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "HELD_S", 0.1)
    (tmp_path / "page.html").write_bytes(b"old")
    hold(10_000)
    with pytest.raises(StoreError, match=r"another program has it open, .* Close what shows it, or name another file"):
        write_whole(tmp_path / "page.html", b"new", elsewhere="name another file")
    assert [path.read_bytes() for path in tmp_path.iterdir()] == [b"old"]


def test_on_other_systems_nothing_is_tried_again(hold, tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "WINDOWS", False)
    (tmp_path / "page.html").write_bytes(b"old")
    hold(1)
    with pytest.raises(StoreError, match="read-only for you"):
        write_whole(tmp_path / "page.html", b"new")


def test_writers_of_one_folder_wait_for_each_other(windows, tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "platform", "win32")
    entered, order = threading.Event(), []

    def second():
        entered.wait()
        with in_turn(tmp_path) as alone:
            order.append(("second", alone))

    thread = threading.Thread(target=second)
    thread.start()
    with in_turn(tmp_path) as alone:
        entered.set()
        thread.join(0.3)
        order.append(("first", alone))
    thread.join()
    assert order == [("first", True), ("second", True)]
    assert not any(tmp_path.iterdir())


def test_a_writer_that_got_no_turn_is_not_swept_away(tmp_path, monkeypatch):
    """Another that has its turn removes what killed writers left, and would take the file that is being written."""
    monkeypatch.setattr(whole, "TURN_S", 0.1)
    monkeypatch.setattr(whole, "QUEUE_S", 0.1)
    ordinary = os.replace

    def replace(source, target):
        whole.sweep(tmp_path)
        ordinary(source, target)

    monkeypatch.setattr(os, "replace", replace)
    with in_turn(tmp_path):
        write_whole(tmp_path / "page.html", b"late")
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("page.html", b"late")]


def test_a_writer_that_got_no_turn_knows_it_and_one_that_got_it_too(system, tmp_path, monkeypatch):
    monkeypatch.setattr(whole, "TURN_S", 0.05)
    monkeypatch.setattr(whole, "QUEUE_S", 0.05)
    with in_turn(tmp_path) as first, in_turn(tmp_path) as second:
        assert (first, second) == (True, False)
    with in_turn(tmp_path) as alone:
        assert alone


def test_a_turn_leaves_a_file_on_windows_alone(system, tmp_path, monkeypatch):
    """Elsewhere the folder itself is locked: nothing is left among the temporary files."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    (tmp_path / "home").mkdir()
    with in_turn(tmp_path / "home"):
        pass
    assert [path.suffix for path in tmp_path.iterdir() if path.is_file()] == [".lock"] * (sys.platform == "win32")
