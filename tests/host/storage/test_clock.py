"""A clock that is set in the midst of a session, by years: sides, hinges, datum and session are what they were.

What the clock shows more than the time since the computer's start changes when it is set, and at no other time (Linux,
clock_gettime(2): CLOCK_BOOTTIME is not affected by it).
"""

from datetime import datetime, timedelta, timezone
from types import SimpleNamespace

import pytest

from hingeline.storage import clock
from hingeline.storage.clock import as_set_now, is_of_session, note_clock
from hingeline.storage.store import SESSION, Store

YEAR_S = 365.25 * 86_400
NOON_S = datetime(2026, 5, 17, 12, tzinfo=timezone.utc).timestamp()


class Computer:
    """Its clock, and the time since its start."""

    def __init__(self, monkeypatch, tmp_path):
        self.since_s, self.now_s = 600.0, NOON_S
        self._start = tmp_path / "start"
        self.restart("one")
        times = SimpleNamespace(time=lambda: self.now_s, clock_gettime=lambda clock: self.since_s, CLOCK_BOOTTIME=None)
        monkeypatch.setattr(clock, "time", times)
        monkeypatch.setattr(clock, "_START", self._start)
        monkeypatch.setattr(clock, "sys", SimpleNamespace(platform="linux"))

    def restart(self, name):
        self._start.write_text(f"{name}\n")

    def wait(self, seconds):
        self.since_s += seconds
        self.now_s += seconds

    @property
    def date(self):
        return datetime.fromtimestamp(self.now_s, timezone.utc).isoformat(timespec="seconds")


@pytest.fixture
def computer(monkeypatch, tmp_path):
    return Computer(monkeypatch, tmp_path)


@pytest.fixture
def store(tmp_path):
    root = tmp_path / "home"
    root.mkdir()
    return Store(root)


@pytest.mark.parametrize("years", [-56, -5, -0.01, 0.01, 5, 40])
def test_what_was_an_hour_ago_is_an_hour_ago_however_the_clock_was_set(computer, store, years):
    note_clock(store)
    then = computer.date
    computer.wait(3600)
    computer.now_s += years * YEAR_S
    note_clock(store)
    passed = datetime.fromisoformat(computer.date) - datetime.fromisoformat(as_set_now(store, then))
    assert abs(passed - timedelta(hours=1)) < timedelta(seconds=2)
    assert is_of_session(store, then, computer.date)
    computer.wait(SESSION.total_seconds() - 3500)
    assert not is_of_session(store, then, computer.date), "it is over, by the time that has passed"


def test_a_clock_may_be_set_again_and_again(computer, store):
    dates = []
    for years in (0, 5, -3, 20, -22):
        computer.wait(600)
        computer.now_s += years * YEAR_S
        note_clock(store)
        dates.append(computer.date)
    now = datetime.fromisoformat(computer.date)
    passed_s = [(now - datetime.fromisoformat(as_set_now(store, date))).total_seconds() for date in dates]
    assert passed_s == pytest.approx([2400, 1800, 1200, 600, 0], abs=2)


def test_a_date_of_before_the_computer_s_start_stays_as_it_is(computer, store):
    """Last year at noon is not today, though the clock showed it a moment ago."""
    note_clock(store)
    old = computer.date
    computer.restart("two")
    computer.since_s, computer.now_s = 30.0, NOON_S + YEAR_S
    note_clock(store)
    computer.wait(60)
    computer.now_s += YEAR_S
    note_clock(store)
    assert as_set_now(store, old) == old
    assert not is_of_session(store, old, computer.date)


def test_a_clock_that_a_network_moves_a_little_is_kept_once(computer, store):
    for _ in range(20):
        computer.wait(600)
        computer.now_s += 0.5
        note_clock(store)
    assert len(store.history("settings", clock.SETTINGS)) == 1


@pytest.mark.parametrize("date", ["", "yesterday", "2026-05-17", "9999-12-31T23:59:59+00:00", "0001-01-01T00:00:00"])
def test_what_is_no_date_stays_as_it_is(computer, store, date):
    note_clock(store)
    computer.now_s += YEAR_S
    note_clock(store)
    assert as_set_now(store, date) == date


@pytest.mark.parametrize("settings", [None, 3, [], [[1]], [["a", "b"]], [[0, 0], "x"], [[0, 1e300], [1e300, 0]]])
def test_settings_that_somebody_else_wrote_do_no_harm(computer, store, settings):
    store.save("settings", clock.SETTINGS, {"start": "one", "settings": settings})
    assert as_set_now(store, computer.date) == computer.date
    note_clock(store)


def test_an_empty_computer_stays_empty(computer, tmp_path):
    note_clock(Store(tmp_path / "none"))
    assert not (tmp_path / "none").exists()
