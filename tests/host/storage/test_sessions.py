"""Where a new run goes: into the aircraft's last session, unless that is over."""

from datetime import datetime, timedelta, timezone

import pytest

from hingeline.errors import NotStored
from hingeline.storage.runs import run_of
from hingeline.storage.sessions import begin_run, find

MIDNIGHT = datetime(2026, 5, 18, 0, 0, tzinfo=timezone.utc)


@pytest.fixture
def begin(tmp_path, monkeypatch):
    """Begin and end a run at a time, and return its file."""

    def run(when, command="throws", aircraft="Moss Lantern", **choices):
        monkeypatch.setattr("hingeline.storage.sessions.now_text", when.isoformat)
        monkeypatch.setattr("hingeline.storage.recording.now_text", when.isoformat)
        with begin_run(tmp_path, aircraft, command, choices=choices) as recorder:
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
