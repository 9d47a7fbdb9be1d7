"""What is stored is whole, current and the right sensor's, or it is refused with its reason."""

import json
import os
import subprocess
import sys
import tempfile
from datetime import datetime, time, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.posix import posix, resource

from hingeline.errors import DamagedFile, NewerFile, NotStored, StoreError, StoreLocked
from hingeline.files.names import safe_name
from hingeline.files.whole import write_whole
from hingeline.storage.store import Store, default_root, same_session

SENSOR = "e6614103e7-0"


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path / "home")


def test_the_last_save_is_current_and_the_former_ones_stay(store):
    for bias in (1.0, 2.0, 3.0):
        store.save("calibration", SENSOR, {"bias_counts": bias})
    assert store.load("calibration", SENSOR) == {"bias_counts": 3.0}
    assert store.load("calibration", SENSOR, number=1) == {"bias_counts": 1.0}
    assert [entry.number for entry in store.history("calibration", SENSOR)] == [1, 2, 3]


def test_going_back_makes_an_earlier_save_current_and_keeps_the_history(store):
    for bias in (1.0, 2.0):
        store.save("calibration", SENSOR, {"bias_counts": bias})
    assert store.save("calibration", SENSOR, store.load("calibration", SENSOR, 1)).number == 3
    assert store.load("calibration", SENSOR) == {"bias_counts": 1.0}
    assert len(store.history("calibration", SENSOR)) == 3


def test_the_number_orders_not_the_date(store):
    """A clock set back: what was saved last is current all the same."""
    first = store.save("datum", "bench", {"n": 1})
    first.path.rename(first.path.with_name("datum-0001-2099-12-31.json"))
    store.save("datum", "bench", {"n": 2})
    assert store.load("datum", "bench") == {"n": 2}


def test_nothing_stored_says_how_to_get_it(store):
    with pytest.raises(NotStored, match=r"no calibration of e6614103e7-0.*hingeline calibrate"):
        store.load("calibration", SENSOR)
    with pytest.raises(NotStored, match=r"no calibration number 7 of e6614103e7-0"):
        store.load("calibration", SENSOR, 7)


@pytest.mark.parametrize(
    "edit",
    [
        lambda text: text.replace("0.125", "0.126"),
        lambda text: text.replace('"format": 1', '"format": 0'),
        lambda text: text[: len(text) // 2],
        lambda text: "",
        lambda text: "[]",
        lambda text: "[" * 100_000,
        lambda text: text.replace("0.125", "NaN"),
    ],
)
def test_an_edited_or_torn_file_is_refused(store, edit):
    path = store.save("calibration", SENSOR, {"bias_counts": 0.125}).path
    path.write_text(edit(path.read_text()))
    with pytest.raises(DamagedFile, match=path.name):
        store.load("calibration", SENSOR)


def test_a_new_layout_of_the_same_content_is_no_edit(store):
    path = store.save("calibration", SENSOR, {"bias_counts": 0.125, "counts": (1, 2)}).path
    path.write_text(json.dumps(json.loads(path.read_text()), sort_keys=True))
    assert store.load("calibration", SENSOR) == {"bias_counts": 0.125, "counts": [1, 2]}


def test_another_sensors_file_is_refused(store):
    path = store.save("calibration", "aa-1", {}).path
    moved = store.root / "calibration" / SENSOR / path.name
    moved.parent.mkdir()
    path.rename(moved)
    with pytest.raises(DamagedFile, match=r"holds the calibration of aa-1, not the calibration of e6614103e7-0"):
        store.load("calibration", SENSOR)


def test_a_newer_format_is_refused_with_advice(store):
    path = store.save("calibration", SENSOR, {}).path
    path.write_text(path.read_text().replace('"format": 1', '"format": 2'))
    with pytest.raises(NewerFile, match=r"format 2.*pip install --upgrade"):
        store.load("calibration", SENSOR)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=12,
)


@given(payload=st.dictionaries(st.text(), JSON, max_size=4), key=st.text(min_size=1))
def test_any_payload_and_key_come_back(payload, key):
    with tempfile.TemporaryDirectory() as root:
        store = Store(Path(root))
        path = store.save("settings", key, payload).path
        assert path.resolve().is_relative_to(Path(root).resolve())
        assert store.load("settings", key) == payload


@given(st.binary(max_size=400))
def test_any_file_raises_only_what_is_documented(content):
    with tempfile.TemporaryDirectory() as root:
        store = Store(Path(root))
        store.save("settings", "a", {}).path.write_bytes(content)
        with pytest.raises(StoreError):
            store.load("settings", "a")


@given(st.text())
def test_a_name_stays_in_its_folder(text):
    name = safe_name(text)
    assert Path(name).name == name
    assert not name.startswith(".")
    assert name == safe_name(name)


def test_the_folder_can_be_named(monkeypatch, tmp_path):
    monkeypatch.setenv("HINGELINE_HOME", str(tmp_path))
    assert default_root() == tmp_path
    monkeypatch.delenv("HINGELINE_HOME")
    assert default_root().name == "hingeline"


def test_on_windows_the_folder_is_named_by_its_true_path(monkeypatch, tmp_path):
    """The Python of Microsoft's Store is shown another folder than there is; elsewhere a link stays what was chosen."""
    (tmp_path / "disk").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "disk")
    monkeypatch.delenv("HINGELINE_HOME", raising=False)
    monkeypatch.setattr("platformdirs.user_data_path", lambda *_, **__: tmp_path / "link")
    for system, folder in (("linux", "link"), ("win32", "disk")):
        monkeypatch.setattr("sys.platform", system)
        assert default_root() == tmp_path / folder


@pytest.mark.parametrize(
    ("then", "now", "is_one"),
    [
        ("2026-05-17T08:00:00+00:00", "2026-05-17T19:59:59+00:00", True),
        ("2026-05-17T08:00:00+00:00", "2026-05-17T20:00:00+00:00", False),
        ("2026-05-17T08:00:00+00:00", "2026-05-17T06:00:00+00:00", True),  # a clock set back
        ("2026-05-17T08:00:00+00:00", "2026-05-16T06:00:00+00:00", False),
        ("2026-05-17T08:00:00+00:00", "2026-05-17T11:00:00", False),  # of no zone
        ("yesterday", "2026-05-17T11:00:00+00:00", False),
        (None, "2026-05-17T11:00:00+00:00", False),
    ],
)
def test_a_session_is_less_than_twelve_hours(then, now, is_one):
    assert same_session(then, now) is is_one


def test_a_save_tells_its_number_its_day_and_its_file(store):
    entry = store.save("datum", "bench", {})
    assert (entry.number, entry.path.parent) == (1, store.root / "datum" / "bench")
    assert datetime.fromisoformat(entry.day) == datetime.combine(datetime.now(timezone.utc).date(), time())
    assert store.history("datum", "bench") == (entry,)
    assert (store.last_day("datum", "bench"), store.last_day("datum", "attic")) == (entry.day, None)


def test_a_full_disk_leaves_what_was(store):
    """A limit on the file size stands for the full disk: the same write fails, with EFBIG for ENOSPC."""
    store.save("calibration", SENSOR, {"n": 1})
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, limits[1]))
    try:
        with pytest.raises(StoreError, match="disk is full"):
            store.save("calibration", SENSOR, {"n": 2, "filling": "x" * 8192})
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert store.load("calibration", SENSOR) == {"n": 1}
    assert len(os.listdir(store.root / "calibration" / SENSOR)) == 1


HOLDER = """
import sys
from pathlib import Path
from hingeline.storage.store import Store
with Store(Path(sys.argv[1])).locked():
    print("held", flush=True)
    sys.stdin.read()
"""


def test_a_second_writer_is_told_who_holds_the_store(store, monkeypatch):
    monkeypatch.setattr("hingeline.storage.store.LOCK_PATIENCE_S", 0.0)
    command = [sys.executable, "-c", HOLDER, store.root]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:
        try:
            assert holder.stdout.readline() == b"held\n"
            with pytest.raises(StoreLocked, match=rf"held by process {holder.pid} \(-c ") as problem:
                store.save("settings", "a", {})
        finally:
            holder.kill()
    assert problem.value.exit_status == 4
    assert store.save("settings", "a", {"n": 1}).number == 1


SAVER = """
import itertools, sys
from pathlib import Path
from hingeline.storage.store import Store
store = Store(Path(sys.argv[1]))
for n in itertools.count(1):
    assert store.save("calibration", "ab-0", {"n": n, "filling": ["x" * 50] * 2000}).number == n
    print(n, flush=True)
"""


@pytest.mark.parametrize("after_lines", [1, 5])
def test_a_kill_at_any_moment_leaves_old_or_new(store, after_lines):
    with subprocess.Popen([sys.executable, "-c", SAVER, store.root], stdout=subprocess.PIPE) as saver:
        told = [int(saver.stdout.readline()) for _ in range(after_lines)]
        saver.kill()
        told += [int(line) for line in saver.stdout]
    found = store.load("calibration", "ab-0")
    assert found["n"] in (told[-1], told[-1] + 1)
    assert store.save("calibration", "ab-0", {"n": 0}).number == found["n"] + 1


def test_a_whole_write_replaces_and_leaves_no_other_file(tmp_path):
    path = tmp_path / "file.json"
    write_whole(path, b"old")
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert os.listdir(path.parent) == ["file.json"]


def test_a_whole_write_leaves_links_permissions_and_devices_as_they_are(tmp_path):
    path, link = tmp_path / "file.json", tmp_path / "link.json"
    path.write_bytes(b"old")
    path.chmod(0o640)
    posix.symlink(path, link)
    write_whole(link, b"new")
    assert (path.read_bytes(), link.is_symlink(), path.stat().st_mode & 0o777) == (b"new", True, 0o640)
    write_whole(Path(os.devnull), b"nowhere")
    assert Path(os.devnull).is_char_device()


def test_what_a_kill_left_on_another_day_is_taken_away(store):
    """The name of the file that a killed save was writing has the date in it."""
    folder = store.save("datum", "bench", {}).path.parent
    (folder / ".datum-0002-2025-09-14.json.new").write_bytes(b"{")
    store.save("datum", "bench", {})
    assert not list(folder.glob(".*"))


def test_two_processes_that_save_at_once_lose_nothing(store):
    code = "import sys; from pathlib import Path; from hingeline.storage.store import Store\n"
    code += "s = Store(Path(sys.argv[1]))\n"
    code += "for n in range(12): s.save('settings', 'a', {'by': sys.argv[2], 'n': n})"
    savers = [subprocess.Popen([sys.executable, "-c", code, store.root, who]) for who in "xy"]
    assert [saver.wait() for saver in savers] == [0, 0]
    kept = [store.load("settings", "a", entry.number) for entry in store.history("settings", "a")]
    assert [entry.number for entry in store.history("settings", "a")] == list(range(1, 25))
    assert sorted((one["by"], one["n"]) for one in kept) == [(by, n) for by in "xy" for n in range(12)]


def test_the_last_day_is_that_of_the_last_save(tmp_path):
    store = Store(tmp_path)
    assert store.last_day("settings", "x") is None
    folder = tmp_path / "settings" / "x"
    folder.mkdir(parents=True)
    for number, day in ((1, "2026-01-01"), (2, "2026-01-02"), (3, "2026-01-03")):
        (folder / f"settings-{number:04}-{day}.json").write_text("{}")
    assert store.last_day("settings", "x") == "2026-01-03"
