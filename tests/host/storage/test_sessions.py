"""Where a new run goes: into the aircraft's last session, unless that is over."""

from dataclasses import replace
from datetime import datetime, timedelta, timezone
from time import perf_counter_ns

import pytest

from hingeline.errors import NotStored
from hingeline.storage.recorder import Recorder
from hingeline.storage.runs import read_facts, read_run
from hingeline.storage.sessions import all_runs, begin_run, find, gather, run_of

MIDNIGHT = datetime(2026, 5, 18, 0, 0, tzinfo=timezone.utc)


@pytest.fixture
def begin(tmp_path, monkeypatch):
    """Begin and end a run at a time, and return its file."""

    def run(when, command="throws", aircraft="Moss Lantern", lasts=None, **choices):
        monkeypatch.setattr("hingeline.storage.sessions.now_text", when.isoformat)
        monkeypatch.setattr("hingeline.storage.recorder.now_text", when.isoformat)
        with begin_run(tmp_path, aircraft, command, choices=choices) as recorder:
            if lasts is not None:
                began_ns = perf_counter_ns()
                monkeypatch.setattr(
                    "hingeline.storage.recorder.perf_counter_ns",
                    lambda: began_ns + round(lasts.total_seconds() * 1e9),
                )
                recorder.event("throw")
                monkeypatch.setattr("hingeline.storage.recorder.perf_counter_ns", perf_counter_ns)
            return recorder.path

    return run


def test_a_session_is_a_folder_of_an_aircraft_with_a_file_for_each_run(begin, tmp_path):
    first, second = (
        begin(MIDNIGHT, "neutral", "../Grey Heron/2 m"),
        begin(MIDNIGHT, "throws", "../Grey Heron/2 m"),
    )
    assert first.parent == second.parent
    assert first.parent.parent == tmp_path / "sessions" / "Grey-Heron-2-m"
    assert (first.name, second.name) == ("1-neutral.log", "2-throws.log")
    assert begin(MIDNIGHT, "throws", "Moss Lantern").parent.parent.name == "Moss-Lantern"


def test_midnight_splits_nothing_and_twelve_hours_do(begin, tmp_path):
    evening, night = begin(MIDNIGHT - timedelta(minutes=10)), begin(MIDNIGHT + timedelta(minutes=10))
    later = begin(MIDNIGHT + timedelta(hours=12))
    next_session = begin(MIDNIGHT + timedelta(hours=24, minutes=1))
    assert evening.parent == night.parent == later.parent, "each less than twelve hours after the one before"
    assert next_session.parent != evening.parent
    assert [run.path for run in find(tmp_path, str(evening.parent)).runs] == [evening, night, later]


def test_the_twelve_hours_count_from_the_last_record(begin, tmp_path):
    """A run that is written all day keeps its session open; one that ended long ago does not."""
    day = begin(MIDNIGHT, lasts=timedelta(hours=10))
    evening = begin(MIDNIGHT + timedelta(hours=21))
    assert evening.parent == day.parent
    (session,) = gather(all_runs(tmp_path))
    assert session.runs[0].last_written == "2026-05-18T10:00:00+00:00"
    assert begin(MIDNIGHT + timedelta(hours=33, minutes=1)).parent != day.parent


def test_a_torn_record_is_not_when_a_run_was_last_written(begin, tmp_path):
    path = begin(MIDNIGHT, lasts=timedelta(hours=10))
    path.write_bytes(path.read_bytes() + b"L 9999999999999999 /dev/tty")
    (run,) = all_runs(tmp_path)
    assert run.last_written == "2026-05-18T10:00:00+00:00"


def test_a_run_is_chosen_by_command_and_surface(begin):
    neutral, flap = begin(MIDNIGHT, "neutral", surface="flap"), begin(MIDNIGHT, surface="flap")
    whole, again = begin(MIDNIGHT), begin(MIDNIGHT, surface="flap")
    assert run_of(flap, "throws", "flap") == flap, "a file is itself"
    assert run_of(flap.parent, "throws", "flap") == again
    assert run_of(flap.parent, "throws", None) == whole
    assert run_of(flap.parent, "neutral", "flap") == neutral
    with pytest.raises(NotStored, match=r"no run of play: 1-neutral.log, 2-throws.log"):
        run_of(flap.parent, "play", "flap")


def test_a_file_that_another_program_is_making_is_left_to_it(begin):
    first = begin(MIDNIGHT, "neutral")
    (first.parent / "2-throws.log").touch()
    assert begin(MIDNIGHT, "neutral").name == "3-neutral.log"


def test_folders_of_two_computers_each_stay_one_session(begin, tmp_path):
    """Each computer numbered its runs from 1; the folders were put together later."""
    folders = []
    for month in (5, 6):
        when = datetime(2026, month, 1, tzinfo=timezone.utc)
        begun = [begin(when, command, f"Moss {month}").rename for command in ("neutral", "throws")]
        folder = tmp_path / "sessions" / "Moss" / f"2026-0{month}-01_10-00-00"
        folder.mkdir(parents=True)
        for number, rename in enumerate(begun, 1):
            rename(folder / f"{number}.log")
        folders.append(folder)
    for date, folder in (("2026-05", folders[0]), ("2026-06", folders[1])):
        runs = find(tmp_path, f"Moss@{date}").runs
        assert [(run.folder, run.number) for run in runs] == [(folder, 1), (folder, 2)]


def test_aircraft_that_share_a_folder_share_no_session(begin, tmp_path):
    blue, red = begin(MIDNIGHT, aircraft="Fox"), begin(MIDNIGHT, aircraft="Fox +")
    again = begin(MIDNIGHT, aircraft="Fox")
    assert blue.parent == again.parent != red.parent
    assert [run.path for run in find(tmp_path, "Fox").runs] == [blue, again]
    assert [run.path for run in find(tmp_path, "Fox +").runs] == [red]


def test_a_run_that_holds_nothing_or_is_damaged_hides_no_other_of_its_folder(begin, tmp_path):
    whole = begin(MIDNIGHT)
    (whole.parent / "2-throws.log").touch()
    (whole.parent / "3-throws.log").write_text("no record\n")
    left_out = []
    session = find(tmp_path, str(whole.parent), left_out.append)
    assert [run.path for run in session.runs] == [whole]
    assert len(left_out) == 1
    assert "3-throws.log, line 1 is no record" in left_out[0]


def test_runs_of_an_aircraft_are_counted_from_1(begin, tmp_path):
    begin(MIDNIGHT, "neutral")
    begin(MIDNIGHT + timedelta(days=2), "throws")
    begin(MIDNIGHT, "neutral", "Fern Kestrel")
    runs = {aircraft: find(tmp_path, aircraft) for aircraft in ("Moss Lantern", "Fern Kestrel")}
    assert [session.runs[-1].number for session in runs.values()] == [2, 1]


def test_a_session_is_measured_if_one_of_its_runs_is(begin, tmp_path):
    begin(MIDNIGHT, "hinge")
    assert not find(tmp_path, "Moss Lantern").measured
    path = begin(MIDNIGHT, "direction")
    with Recorder(path) as recorder:
        recorder.event("direction", surface="flap", command="up", sides={})
    session = find(tmp_path, "Moss Lantern")
    assert [run.measured for run in session.runs] == [False, True]
    assert session.measured


def test_a_run_tells_the_datum_that_it_checked_last(begin):
    path = begin(MIDNIGHT, "drift-check", "table")
    assert read_facts(path) == (False, "")
    with Recorder(path) as recorder:
        recorder.event("drift check", date="2026-05-17", drift_deg={"a": 0.0}, holds=True)
        assert read_facts(path) == (False, "2026-05-17")
        recorder.event("drift check", date="2026-05-18", drift_deg={"a": 0.0}, holds=True)
    assert read_facts(path) == (False, "2026-05-18")


def test_a_run_that_can_t_be_read_counts_as_measured(begin, tmp_path):
    """So a report names it."""
    path = begin(MIDNIGHT)
    (run,) = all_runs(tmp_path)
    path.write_bytes(path.read_bytes() + b"no record\n")
    assert replace(run, facts=None).measured


def test_an_old_run_without_a_number_comes_first(begin):
    path = begin(MIDNIGHT)
    for number, expected in ((b'"7"', 0), (b"7", 7)):
        first = path.read_bytes().replace(b'"number": 1', b'"number": ' + number)
        path.with_name("2-throws.log").write_bytes(first)
        assert read_run(path.with_name("2-throws.log")).number == expected
