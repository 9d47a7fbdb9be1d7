"""The index of the runs: it says what the runs say, whatever becomes of them and of it."""

import json
import os
import shutil
import time
from pathlib import Path

import pytest
from tests.posix import posix

from hingeline.errors import DamagedFile
from hingeline.storage import index, records, runs
from hingeline.storage.index import NAME
from hingeline.storage.runs import all_runs
from hingeline.storage.sessions import begin_run, find

GOLDEN = Path(__file__).parents[2] / "data" / "formats" / "2" / "home"


@pytest.fixture
def home(tmp_path):
    """A store with sessions that were written a minute ago."""
    for folder in ("a", "b", "c"):
        shutil.copytree(next((GOLDEN / "sessions").glob("*/*")), tmp_path / "sessions" / "Moss-Lantern" / folder)
    for path in tmp_path.rglob("*.log"):
        age(path)
    return tmp_path


def age(path):
    before_s = time.time() - 60
    os.utime(path, (before_s, before_s))


def read(home):
    return [(run, run.measured, run.last_written) for run in all_runs(home)]


@pytest.fixture
def no_reading(monkeypatch):
    """No run may be read: the index has to know it."""

    def refuse(*_):
        raise AssertionError("read")

    def forbid():
        for name in ("read_run", "read_facts"):
            monkeypatch.setattr(runs, name, refuse)

    return forbid


def test_the_second_time_no_run_is_read(home, no_reading):
    first = read(home)
    assert len(first) == 3
    no_reading()
    assert read(home) == first


def test_a_list_of_what_is_known_writes_nothing(home):
    read(home)
    (home / NAME).write_bytes(b" " + (home / NAME).read_bytes())
    read(home)
    assert (home / NAME).read_bytes().startswith(b" ")


def test_what_changed_is_read_again(home):
    read(home)
    path = min(home.rglob("*.log"))
    lines = path.read_text().splitlines(keepends=True)
    path.write_text("".join(line for line in lines if '"kind": "neutral"' not in line))
    assert [run.measured for run in all_runs(home)] == [False, True, True]


def test_of_the_same_size_too(home):
    """Its time on the disk tells."""
    read(home)
    path = min(home.rglob("*.log"))
    path.write_bytes(path.read_bytes().replace(b'"kind": "neutral"', b'"kind": "neutrax"'))
    assert [run.measured for run in all_runs(home)] == [False, True, True]


def test_a_run_in_the_making_is_not_kept(home):
    """What is written within two seconds may have the same time on a FAT disk."""
    for path in home.rglob("*.log"):
        path.touch()
    read(home)
    assert not (home / NAME).exists()


def test_what_was_removed_is_forgotten(home):
    read(home)
    shutil.rmtree(home / "sessions" / "Moss-Lantern" / "b")
    assert len(read(home)) == 2
    assert len(json.loads((home / NAME).read_text())["runs"]) == 2


DAMAGES = [
    b"",
    b"{",
    b"[" * 100_000,
    b"\xff\xfe",
    b"null",
    b'{"hingeline": "0.0", "runs": {"x": 1}}',
    b'{"hingeline": 1, "runs": []}',
]


@pytest.mark.parametrize("damage", [*DAMAGES, *["removed", "entries", "states", "forms", "a form", "short", "folder"]])
def test_an_index_that_does_not_fit_is_made_anew(home, damage):
    first = read(home)
    path = home / NAME
    content = json.loads(path.read_text())
    if isinstance(damage, bytes):
        path.write_bytes(damage)
    elif damage == "entries":
        path.write_text(json.dumps({**content, "runs": {name: [1] for name in content["runs"]}}))
    elif damage == "states":
        path.write_text(
            json.dumps({**content, "runs": {name: [[], each[1]] for name, each in content["runs"].items()}})
        )
    elif damage == "forms":
        forged = {name: [state, [None] * len(facts)] for name, (state, facts) in content["runs"].items()}
        path.write_text(json.dumps({**content, "runs": forged}))
    elif damage in ("a form", "short"):
        forged = {
            name: [state, facts[:-1] if damage == "short" else [*facts[:-1], 7]]
            for name, (state, facts) in content["runs"].items()
        }
        path.write_text(json.dumps({**content, "runs": forged}))
    else:
        path.unlink()
        if damage == "folder":
            path.mkdir()
    assert read(home) == first


def test_a_damaged_run_is_named_each_time(home):
    path = min(home.rglob("*.log"))
    path.write_bytes(b"no record\n" + path.read_bytes())
    age(path)
    left_out = []
    for _ in range(2):
        assert len(all_runs(home, lambda path, text: left_out.append(text))) == 2
    assert len(left_out) == 2


def test_of_a_long_run_the_events_are_found_wherever_they_stand(home, monkeypatch):
    """In blocks of any length, and braces in received lines; a record that is none is named with its line."""
    path = min(home.rglob("*.log"))
    events = list(records.happenings(path))
    received = b"L 812345699123456 /dev/ttyACM0 s 104 3 {39504833}*7490C667\n"
    content = b"".join(received * 3 + line for line in path.read_bytes().splitlines(keepends=True))
    path.write_bytes(content + b'E 9 {"kind": "torn')
    monkeypatch.setattr(records, "LONG_BYTES", 0)
    for size in (1, 7, 64, 4096, 1 << 20):
        monkeypatch.setattr(records, "_BLOCK_BYTES", size)
        assert list(records.happenings(path)) == events
    path.write_bytes(content + b'{"kind"}\n')
    for size in (1, 7, 64, 1 << 20):
        monkeypatch.setattr(records, "_BLOCK_BYTES", size)
        with pytest.raises(DamagedFile, match=f"line {content.count(bytes([10])) + 1} is no record"):
            list(records.happenings(path))


def test_a_new_run_counts_on(home):
    """The number that orders the runs goes on, whether the index knows them or not."""
    read(home)
    numbers = []
    for _ in range(2):
        with begin_run(home, "Moss Lantern", "throws") as recorder:
            numbers.append(runs.read_run(recorder.path).number)
    assert numbers == [find(home, "Moss Lantern").runs[-1].number + 1, numbers[0] + 1]


def test_thousands_of_sessions_are_listed_without_being_read(home, no_reading, monkeypatch):
    """The time of it is in docs/benchmarks.md; what counts is that none is opened."""
    path = next(home.rglob("*.log"))
    for number in range(2000):
        folder = home / "sessions" / "Plover" / f"{number:04}"
        folder.mkdir(parents=True)
        shutil.copy2(path, folder / path.name)
    all_runs(home)
    no_reading()
    opened = []
    monkeypatch.setattr(index, "read_ordinary", lambda *_, real=index.read_ordinary: opened.append(1) or real(*_))
    assert len(all_runs(home)) == 2003
    assert opened == [1]


def test_a_pipe_in_place_of_the_index_keeps_nobody_waiting(home):
    """It waits for a reader, who never comes: open(2)."""
    before = read(home)
    (home / NAME).unlink()
    posix.mkfifo(home / NAME)
    assert read(home) == before
