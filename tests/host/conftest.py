"""Somebody at a bench, for all tests of commands."""

from pathlib import Path

import pytest
from tests.host.person import Person

from hingeline.demo.job import SCENARIO, SHEET
from hingeline.virtual.client import VirtualBench


@pytest.fixture(scope="session")
def calibrated_home(tmp_path_factory) -> Path:
    """A store with calibrations and datum of the demonstration's sensors: the same in every bench of its scenario."""
    home = tmp_path_factory.mktemp("home")
    with VirtualBench(SCENARIO) as bench:
        person = Person(bench, home)
        assert person.calibrate().status == 0
        assert person.take_datum().status == 0
    return home


@pytest.fixture
def person(calibrated_home):
    """Somebody before the bench of the demonstration, with calibrated sensors and a datum."""
    with VirtualBench(SCENARIO) as bench:
        yield Person(bench, calibrated_home)


@pytest.fixture
def sheet() -> str:
    """The rigging sheet of the demonstration."""
    return str(SHEET)
