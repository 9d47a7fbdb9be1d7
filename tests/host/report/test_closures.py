"""What a report says of the datums that its neutrals count from."""

import pytest
from tests.host.report.conftest import judged

from hingeline.report.closures import closure_cautions
from hingeline.report.results import results
from hingeline.storage.recording import FILE, Recorder, new_session

FIRST, SECOND = "2026-05-17T08:00:00+00:00", "2026-05-17T09:00:00+00:00"


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


def close(home, date, holds):
    folder = new_session(home, "datum")
    with Recorder(folder, command="closure", aircraft="datum", choices={}) as recorder:
        recorder.event("drift check", date=date, drift_deg={"a": -3.769, "b": 0.01}, holds=holds)
    return folder


def test_only_neutrals_of_a_datum_that_does_not_hold_are_cautioned(neutral, tmp_path):
    visit = results((neutral("flap", FIRST), neutral("elevator", SECOND)))
    home = tmp_path / "home"
    assert closure_cautions(home, visit) == ()
    close(home, FIRST, holds=False)
    close(home, SECOND, holds=True)
    assert closure_cautions(home, visit) == (
        "the datum of 2026-05-17 08:00 did not hold when it was closed (a gone by -3.77°, b gone by +0.01°): "
        "neutrals of flap are off by up to this",
    )
    close(home, FIRST, holds=True)
    assert closure_cautions(home, visit) == (), "the last closure counts"


def test_a_clock_that_was_set_back_hides_no_closure(neutral, tmp_path):
    """A datum that is dated ahead of the closure which tells that it is gone."""
    ahead = "2099-01-01T00:00:00+00:00"
    close(tmp_path / "home", ahead, holds=False)
    assert closure_cautions(tmp_path / "home", results((neutral("flap", ahead),))) != ()


def test_what_was_read_again_from_a_new_datum_is_good(neutral, tmp_path):
    close(tmp_path / "home", FIRST, holds=False)
    flaps = neutral("flap", FIRST), neutral("flap", SECOND)
    assert closure_cautions(tmp_path / "home", results(flaps[:1])) != ()
    assert closure_cautions(tmp_path / "home", results(flaps)) == ()


def test_a_damaged_closure_is_told_and_the_others_count(neutral, tmp_path):
    home = tmp_path / "home"
    close(home, FIRST, holds=False)
    damaged = close(home, SECOND, holds=True)
    with open(damaged / FILE, "ab") as file:
        file.write(b"torn\n")
    gone, unread = closure_cautions(home, results((neutral("flap", FIRST), neutral("elevator", SECOND))))
    assert gone.endswith("neutrals of flap are off by up to this")
    assert unread == (
        f"the closure of {damaged.name} can't be read: whether the datum held then is not known"
    )
