"""A session is readable at every moment of its making, and plays again as it was."""

import errno
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.posix import needs_posix, resource

from hingeline.device.link.decoder import Line
from hingeline.device.link.replay import Replay
from hingeline.device.samples import Sample, SensorFault
from hingeline.errors import DamagedFile, NewerFile, NotStored, StoreError
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import Happening, lines, read
from hingeline.storage.sessions import begin_run
from hingeline_protocol import messages

INTRODUCTION = (
    messages.Board(1, 1, "0.1.0", "pico", "e6614103e7", 1),
    messages.Sensor(1, 0, "mpu6050", 0, 0x68, 16384, 1000, 44, "absolute", "ok"),
    messages.Ok(1),
)


def line(message, arrival_ns=0, port="/dev/ttyACM0"):
    return Line(port, arrival_ns, messages.pack(message).rstrip(b"\n"))


def sample(sequence):
    return messages.Sample(0, sequence, sequence * 20_000, 4, 4, 8, 65536, 2000)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "1-throws.log"


def test_what_was_recorded_is_read_in_its_order(path):
    told = [line(message, arrival_ns) for arrival_ns, message in enumerate(INTRODUCTION)]
    with Recorder(path, aircraft="Grey Heron") as recorder:
        recorder.lines([told[0]])
        recorder.event("neutral", surface="flap", deflection_deg=-0.25)
        for item in told[1:]:
            recorder.lines([item])
    session, *rest = read(path)
    assert session.kind == "run"
    assert session.fields["aircraft"] == "Grey Heron"
    assert [record for record in rest if isinstance(record, Line)] == told
    assert rest[1] == Happening(rest[1].time_ns, "neutral", {"surface": "flap", "deflection_deg": -0.25})
    assert session.time_ns <= rest[1].time_ns


def test_a_session_plays_again(path):
    with Recorder(path) as recorder:
        for message in (
            *INTRODUCTION,
            sample(0),
            sample(1),
            messages.Fault(0, 2, 40_000, "lost", 5),
            sample(4),
        ):
            recorder.lines([line(message, 1_000_000_000)])
    replay = Replay(lines(path))
    assert list(replay.sensors) == ["e6614103e7-0"]
    events = list(replay)
    assert [type(event) for event in events] == [Sample, Sample, SensorFault, Sample]
    assert replay.counts["/dev/ttyACM0"].lost == {"e6614103e7-0": 2}


def test_any_lines_are_a_source():
    replay = Replay(line(message) for message in (*INTRODUCTION, *map(sample, range(5))))
    assert [event.sequence for event in replay] == [0, 1, 2, 3, 4]


def test_no_lines_are_a_source_without_sensors():
    replay = Replay([])
    assert (replay.sensors, list(replay)) == ({}, [])


def test_two_boards_are_told_apart():
    other = (INTRODUCTION[0]._replace(uid="77"), *INTRODUCTION[1:], sample(0))
    told = [line(message) for message in (*INTRODUCTION, sample(0))] + [line(m, port="COM 3") for m in other]
    assert {event.sensor_id for event in Replay(told)} == {"e6614103e7-0", "77-0"}


def test_every_cut_of_the_file_reads_as_what_was_whole(path):
    with Recorder(path) as recorder:
        for message in INTRODUCTION:
            recorder.lines([line(message)])
        recorder.event("neutral", surface="flap")
    whole = path.read_bytes()
    records = list(read(path))
    for length in range(len(whole) + 1):
        path.write_bytes(whole[:length])
        assert list(read(path)) == records[: whole[:length].count(b"\n")]


def test_a_session_goes_on_after_its_last_whole_record(path):
    with Recorder(path) as recorder:
        recorder.lines([line(INTRODUCTION[0])])
    with open(path, "ab") as file:
        file.write(b"L 17 /dev/tty")
    with Recorder(path) as recorder:
        recorder.lines([line(INTRODUCTION[1])])
    kinds = [getattr(record, "kind", "line") for record in read(path)]
    assert kinds == ["run", "line", "run", "line"]


WRITER = """
import sys
from pathlib import Path
from hingeline.device.link.decoder import Line
from hingeline.storage.recorder import Recorder
recorder = Recorder(Path(sys.argv[1]))
for n in range(10**9):
    recorder.lines([Line("COM7", n, b"x" * (n % 200))])
    if n % 500 == 0:
        print(n, flush=True)
"""


@pytest.mark.parametrize("after", [1, 4])
def test_a_kill_while_recording_loses_nothing_that_was_taken(path, after):
    with subprocess.Popen([sys.executable, "-c", WRITER, path], stdout=subprocess.PIPE) as writer:
        told = [int(writer.stdout.readline()) for _ in range(after)]
        writer.kill()
        told += [int(text) for text in writer.stdout]
    numbers = [record.arrival_ns for record in lines(path)]
    assert numbers == list(range(len(numbers)))
    assert len(numbers) > told[-1]


def test_a_full_disk_is_told_and_what_was_recorded_is_whole(path):
    """A limit on the file size stands for the full disk: the same write fails, with EFBIG for ENOSPC."""
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    taken = []

    def fill(recorder):
        while True:
            recorder.lines([Line("COM7", len(taken), b"x" * 90)])
            taken.append(len(taken))

    with Recorder(path) as recorder:
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, limits[1]))
        try:
            with pytest.raises(StoreError, match="disk is full"):
                fill(recorder)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        assert path.read_bytes().endswith(b"x\n")
        recorder.event("full")
    assert taken
    assert [record.arrival_ns for record in lines(path)] == taken


def recorded_until_refused(path, why):
    """Return how many lines a session takes until it is refused with `why`."""
    taken = []

    def fill(recorder):
        while True:
            recorder.lines([Line("COM7", len(taken), b"x" * 90)])
            taken.append(len(taken))

    with Recorder(path) as recorder, pytest.raises(StoreError, match=why):
        fill(recorder)
    assert [record.arrival_ns for record in lines(path)] == taken
    return len(taken)


def test_a_forgotten_session_does_not_grow_without_end(path, monkeypatch):
    monkeypatch.setattr("hingeline.storage.recorder.MOST_BYTES", 10_000)
    why = "has grown to 0.0 GB: no run may be longer. Start again: that begins another"
    assert recorded_until_refused(path, why) > 50
    assert path.stat().st_size <= 10_000


def test_a_forgotten_session_leaves_half_of_the_room_on_the_disk(path, monkeypatch):
    """The system's word of the disk is replaced: one with so little room left is not at hand."""
    room = shutil.disk_usage(path.parent)._replace(free=1_200_000)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: room)
    why = "has grown to 0.6 MB, half of the space that was free: .* Start again: that begins another run"
    assert recorded_until_refused(path, why) > 5000
    assert path.stat().st_size <= 600_000


def test_a_disk_without_room_for_a_minute_is_told_before_anything_is_measured(path, monkeypatch):
    """As above."""
    room = shutil.disk_usage(path.parent)._replace(free=400_000)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: room)
    with pytest.raises(StoreError, match=r"is nearly full, 0.4 MB are free: .*\. Make room on it"):
        Recorder(path)
    assert list(path.parent.iterdir()) == []


def test_what_json_has_not_is_not_recorded(path):
    """RFC 8259, 6: no Infinity, no NaN: a reader of another language would refuse the whole file."""
    with Recorder(path) as recorder, pytest.raises(ValueError, match="JSON"):
        recorder.event("throw", deg=float("inf"))
    assert [record.kind for record in read(path)] == ["run"]


def test_an_event_is_on_the_disk_before_anything_goes_on(path, monkeypatch):
    """Received lines follow by and by: to wait for the disk at each of them would lose others."""
    synced = []
    with Recorder(path) as recorder:
        monkeypatch.setattr(os, "fsync", lambda descriptor: synced.append(path.read_bytes()))
        recorder.lines([line(INTRODUCTION[0])])
        assert synced == []
        recorder.event("throw")
        (content,) = synced
        assert content.endswith(b'{"kind": "throw"}\n')


@needs_posix("rights of files")
def test_a_run_may_be_read_by_others_and_written_by_its_owner(tmp_path):
    umask = os.umask(0o022)
    folder = tmp_path / "Heron"
    folder.mkdir()
    try:
        with Recorder(folder / "1-throws.log") as recorder:
            modes = [recorder.path.stat().st_mode & 0o7777]
            shutil.rmtree(folder)
            recorder.event("key", key="take")
            modes.append(recorder.path.stat().st_mode & 0o7777)
    finally:
        os.umask(umask)
    assert modes == [0o644, 0o644]


def test_a_damaged_record_is_named(path):
    with Recorder(path) as recorder:
        recorder.lines([line(INTRODUCTION[0])])
        recorder.lines([line(INTRODUCTION[1])])
    path.write_bytes(path.read_bytes().replace(b"\nL ", b"\nQ ", 1))
    with pytest.raises(DamagedFile, match="line 2"):
        list(read(path))


def test_a_newer_session_is_refused_with_advice(path):
    with Recorder(path):
        pass
    path.write_bytes(path.read_bytes().replace(b'"format": 2', b'"format": 3'))
    with pytest.raises(NewerFile, match="pip install --upgrade"):
        list(read(path))


def test_no_run_is_told(tmp_path):
    with pytest.raises(NotStored, match="no run"):
        list(read(tmp_path / "1-throws.log"))


@given(st.binary(max_size=200))
def test_any_file_raises_only_what_is_documented(content):
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "1-throws.log").write_bytes(content)
        try:
            records = list(read(Path(folder) / "1-throws.log"))
        except StoreError:
            records = []
        assert all(isinstance(record, Line | Happening) for record in records)


@given(
    st.text(st.characters(exclude_categories=["Cs"]), min_size=1),
    st.integers(0, 2**63),
    st.binary().filter(lambda raw: b"\n" not in raw and not raw.endswith(b"\r")),
)
def test_any_port_and_line_come_back(port, arrival_ns, raw):
    with tempfile.TemporaryDirectory() as folder:
        with Recorder(Path(folder) / "1-throws.log") as recorder:
            recorder.lines([Line(port, arrival_ns, raw)])
        assert list(lines(Path(folder) / "1-throws.log")) == [Line(port, arrival_ns, raw)]


def test_a_folder_that_is_none_is_told(tmp_path):
    (tmp_path / "sessions").write_text("")
    with pytest.raises(StoreError, match="was not written"):
        begin_run(tmp_path, "Heron", "throws")
    with pytest.raises(StoreError, match="was not written"):
        Recorder(tmp_path / "absent" / "1-throws.log")


def test_the_record_is_appended_by_one_write(path, monkeypatch):
    """So a kill tears at most the last record."""
    written = []
    with Recorder(path) as recorder:
        write = os.write
        monkeypatch.setattr(os, "write", lambda fd, data: written.append(bytes(data)) or write(fd, data))
        recorder.lines([line(INTRODUCTION[0], 5)])
        monkeypatch.undo()
    assert written == [b"L 5 /dev/ttyACM0 " + messages.pack(INTRODUCTION[0])]


def failing(*_):
    raise OSError(errno.EIO, os.strerror(errno.EIO))


@pytest.mark.parametrize("broken", [("write",), ("write", "ftruncate"), ("fsync",)])
def test_a_failing_disk_is_told_as_one(path, monkeypatch, broken):
    """Also where it fails to take half a record back: a reader of a board must not take it for the board's failure."""
    with Recorder(path) as recorder:
        recorder.event("whole")
        failures = []
        recorder.on_failure = failures.append
        for call in broken:
            monkeypatch.setattr(os, call, failing)
        recorder.event("lost")
        recorder.event("after that nothing is tried")
        monkeypatch.undo()
    (failure,) = failures
    assert str(failure).startswith(f"{path} was not written: ")
    kinds = [record.kind for record in read(path)]
    assert kinds[:2] == ["run", "whole"]


@pytest.mark.parametrize("goes_on", [lambda recorder: recorder.event("key", key="take"), None])
def test_a_run_that_is_removed_while_it_is_recorded_is_told_at_once_and_goes_on(tmp_path, goes_on):
    """With its folder; all that was recorded before is in the new file too, at the next line already."""
    notices, failures = [], []
    folder = tmp_path / "Heron" / "2026-05-17_10-00-00"
    folder.mkdir(parents=True)
    path = folder / "1-throws.log"
    with Recorder(path) as recorder:
        recorder.on_failure, recorder.on_removed = failures.append, notices.append
        recorder.lines([line(INTRODUCTION[0])])
        assert not notices
        shutil.rmtree(folder.parent)
        (goes_on or (lambda recorder: recorder.lines([line(INTRODUCTION[1])])))(recorder)
        recorder.lines([line(INTRODUCTION[2])])
    assert notices == [f"{path} was removed while it was recorded. All of it is recorded in {path}."]
    assert failures == []
    records = list(read(path))
    assert [record.raw for record in records if isinstance(record, Line)][::2][0] == line(INTRODUCTION[0]).raw
    assert len(records) == 4


def test_a_run_whose_place_is_gone_goes_on_where_the_person_works(tmp_path, monkeypatch):
    """A file stands where its folder was: a disk that was pulled out leaves a place that nobody may write in."""
    notices, work = [], tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    folder = tmp_path / "stick"
    folder.mkdir()
    with Recorder(folder / "1-throws.log") as recorder:
        recorder.on_removed = notices.append
        recorder.event("key", key="take")
        shutil.rmtree(folder)
        folder.write_text("")
        recorder.event("key", key="next")
    (rescued,) = work.iterdir()
    assert notices == [
        f"{folder / '1-throws.log'} was removed while it was recorded. All of it is recorded in {rescued}."
    ]
    assert [record.kind for record in read(rescued)] == ["run", "key", "key"]


def test_sessions_of_one_second_are_counted(tmp_path):
    """Aircraft whose names differ in signs alone share a folder, and no session."""
    for sign in "/:*?|":
        begin_run(tmp_path, f"Heron{sign}", "throws").close()
    folders = sorted(path.name for path in (tmp_path / "sessions").glob("*/*"))
    stamps = {name[:19] for name in folders}
    of_each = [[name for name in folders if name.startswith(stamp)] for stamp in sorted(stamps)]
    assert len(folders) == 5
    for stamp, names in zip(sorted(stamps), of_each, strict=True):
        assert names == [stamp, *(f"{stamp}_{number}" for number in range(2, len(names) + 1))]
