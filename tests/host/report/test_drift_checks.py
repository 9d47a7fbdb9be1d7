"""What a report says of the datums that its neutrals count from."""

import os

import pytest
from tests.host.report.conftest import judged

from hingeline.report.drift_checks import drift_cautions
from hingeline.report.results import read_session
from hingeline.storage.sessions import Session, begin_run

FIRST, SECOND = "2026-05-17T08:00:00+00:00", "2026-05-17T09:00:00+00:00"
AHEAD = "2099-01-01T00:00:00+00:00"


@pytest.fixture
def neutral(record):
    """Record a neutral of a surface from the datum of a date."""

    def write(surface, date):
        return record(
            ("loaded", {"name": "datum", "key": "bench", "payload": {"date": date}}),
            ("neutral", {"surface": surface, "judgements": [judged("left - right")]}),
            surface=surface,
        )

    return write


def check_drift(home, date, holds):
    with begin_run(home, "table", "closure", choices={}) as recorder:
        recorder.event("drift check", date=date, drift_deg={"a": -3.769, "b": 0.01}, holds=holds)
    return recorder


def results(runs):
    return read_session(Session(runs))


def test_only_neutrals_of_a_datum_that_does_not_hold_are_cautioned(neutral, tmp_path):
    visit = results((neutral("flap", FIRST), neutral("elevator", SECOND)))
    home = tmp_path / "home"
    assert drift_cautions(home, visit) == ()
    check_drift(home, FIRST, holds=False)
    check_drift(home, SECOND, holds=True)
    assert drift_cautions(home, visit) == (
        "the datum of 2026-05-17 08:00 did not hold at its drift check (a -3.77°, b +0.01°): "
        "neutrals of flap are off by up to this",
    )
    check_drift(home, FIRST, holds=True)
    assert drift_cautions(home, visit) == (), "the last drift check counts"


def test_a_clock_that_was_set_back_hides_no_drift_check(neutral, tmp_path):
    """A datum that is dated ahead of the drift check which tells that it is gone."""
    check_drift(tmp_path / "home", AHEAD, holds=False)
    assert drift_cautions(tmp_path / "home", results((neutral("flap", AHEAD),))) != ()


def test_what_was_read_again_from_a_new_datum_is_good(neutral, tmp_path):
    check_drift(tmp_path / "home", FIRST, holds=False)
    flaps = neutral("flap", FIRST), neutral("flap", SECOND)
    assert drift_cautions(tmp_path / "home", results(flaps[:1])) != ()
    assert drift_cautions(tmp_path / "home", results(flaps)) == ()


def test_a_damaged_drift_check_is_told_and_the_others_count(neutral, tmp_path):
    home = tmp_path / "home"
    check_drift(home, FIRST, holds=False)
    damaged = check_drift(home, SECOND, holds=True)
    with open(damaged.path, "ab") as file:
        file.write(b"torn\n")
    minute = damaged.started[:16].replace("T", " ")
    gone, unread = drift_cautions(home, results((neutral("flap", FIRST), neutral("elevator", SECOND))))
    assert gone.endswith("neutrals of flap are off by up to this")
    assert unread == (f"the drift check of {minute} can't be read: whether the datum held then is not known")


@pytest.mark.parametrize(("dates", "is_told"), [((AHEAD, FIRST), True), ((AHEAD,), False), ((FIRST,), True)])
def test_a_damaged_drift_check_of_before_every_datum_is_not_told(neutral, tmp_path, dates, is_told):
    """It can't have been one of theirs."""
    damaged = check_drift(tmp_path / "home", FIRST, holds=True)
    damaged.path.write_bytes(damaged.path.read_bytes() + b"torn\n")
    runs = tuple(neutral(f"flap {number}", date) for number, date in enumerate(dates))
    assert bool(drift_cautions(tmp_path / "home", results(runs))) is is_told


def test_what_the_index_knows_of_drift_checks_is_the_same(neutral, tmp_path):
    """Runs of a minute ago, which the index keeps: those of another datum need not be read."""
    home = tmp_path / "home"
    for date, holds in ((FIRST, False), (SECOND, True)):
        path = check_drift(home, date, holds).path
        os.utime(path, (path.stat().st_atime - 60, path.stat().st_mtime - 60))
    visit = results((neutral("flap", FIRST),))
    first, second = drift_cautions(home, visit), drift_cautions(home, visit)
    assert len(first) == 1
    assert first == second
