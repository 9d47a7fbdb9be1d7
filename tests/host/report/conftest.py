"""Two recorded visits to one aircraft, and sessions made up of events."""

import pytest
from tests.host.person import Outcome, at_the_desk, kept_visits

from hingeline.report.results import Results, read_session
from hingeline.storage.sessions import Session, begin_run, find, read_run

DATA = kept_visits()


@pytest.fixture(scope="session")
def then() -> Results:
    """The visit of 2025: flaps not yet set."""
    return read_session(find(DATA, "Moss Lantern@2025"))


@pytest.fixture(scope="session")
def now() -> Results:
    """The visit of 2026: flaps set; sweep, play and centring of the elevator."""
    return read_session(find(DATA, "Moss Lantern"))


def run(*arguments, home=DATA) -> Outcome:
    """Run a command on the sessions of a store."""
    return at_the_desk(home, *arguments)


def judged(name="left", deg=5.0, **changes):
    """Return a judgement as an event has it."""
    return {
        "name": name,
        "measured": {
            "deg": deg,
            "standard_uncertainty_deg": 0.05,
            "interval_95_deg": [deg - 0.1, deg + 0.1],
            "budget_deg": {"noise": 0.04, "datum": 0.03},
        },
        "unit": "deg",
        "target": 5.0,
        "tolerance": 0.5,
        "gap": 5.0 - deg,
        "verdict": "WITHIN",
        "inside": True,
        **changes,
    }


@pytest.fixture
def record(tmp_path):
    """Record a run of some events, (kind, fields) each, and return it."""

    def write(*events, aircraft="Moss Lantern", surface="flap"):
        with begin_run(tmp_path / "home", aircraft, "throws", choices={"surface": surface}) as recorder:
            for kind, fields in events:
                recorder.event(kind, **fields)
        return read_run(recorder.path)

    return write


@pytest.fixture
def made(record):
    """Record a run of some events, and return its results."""

    def make(*events, **told):
        return read_session(Session((record(*events, **told),)))

    return make
