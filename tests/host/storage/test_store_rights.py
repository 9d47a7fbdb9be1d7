"""A store that the user may not write, or not read: told with its cure, and what is there stays."""

import os
import tempfile
from pathlib import Path

import pytest
from tests.posix import posix

from hingeline.errors import NotStored, StoreError
from hingeline.storage.sessions import all_runs
from hingeline.storage.store import Store

SENSOR = "e6614103e7-0"
NOBODY = 65534


@pytest.fixture
def as_nobody():
    """What follows has the rights of a user who owns nothing; without root, those of the tester."""
    if posix.geteuid() == 0:
        posix.seteuid(NOBODY)
    yield
    if posix.getuid() == 0:
        posix.seteuid(0)


@pytest.fixture
def open_folder():
    """A folder that everybody may enter."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        yield Path(folder)


@pytest.fixture
def unreadable_folder(open_folder):
    folder = open_folder / "home"
    folder.mkdir(0)
    yield folder
    folder.chmod(0o755)


@pytest.fixture
def read_only_store(open_folder):
    store = Store(open_folder / "home")
    store.save("calibration", SENSOR, {"n": 1})
    folder = store.root / "calibration" / SENSOR
    os.chmod(folder, 0o555)
    os.chmod(store.root / "lock", 0o666)
    yield store
    os.chmod(folder, 0o755)


def test_a_read_only_folder_is_told_with_the_cure(read_only_store, as_nobody):
    with pytest.raises(StoreError, match=r"read-only for you.*HINGELINE_HOME"):
        read_only_store.save("calibration", SENSOR, {"n": 2})
    assert read_only_store.load("calibration", SENSOR) == {"n": 1}


def test_a_store_that_may_not_be_written_at_all(open_folder, as_nobody):
    root = open_folder / "home"
    if posix.geteuid() == posix.getuid():
        os.chmod(open_folder, 0o555)
    with pytest.raises(StoreError, match="read-only for you"):
        Store(root).save("calibration", SENSOR, {})
    with pytest.raises(NotStored):
        Store(root).load("calibration", SENSOR)


@pytest.mark.parametrize(
    "listing",
    [
        lambda root: Store(root).keys("calibration"),
        lambda root: Store(root).history("calibration", SENSOR),
        all_runs,
    ],
    ids=["keys", "history", "sessions"],
)
def test_a_store_that_may_not_be_read_is_told(unreadable_folder, as_nobody, listing):
    with pytest.raises(StoreError, match=r"can't be read: .*\. Make it readable"):
        listing(unreadable_folder)


def test_a_file_in_place_of_the_store_is_told(tmp_path):
    (tmp_path / "home").write_text("")
    with pytest.raises(StoreError, match="was not written"):
        Store(tmp_path / "home").save("settings", "a", {})
