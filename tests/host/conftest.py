"""Somebody at a bench, for all tests of commands."""

import shutil
from pathlib import Path

import pytest
from filelock import FileLock
from tests.host.person import Person

from hingeline.demo.job import SCENARIO, SHEET
from hingeline.rig.kinds import BOTH
from hingeline.storage.sides import save_sides
from hingeline.storage.store import Store
from hingeline_virtual.client import VirtualBench


@pytest.fixture(scope="session")
def calibrated_home(tmp_path_factory, worker_id) -> Path:
    """A store with calibrations, datum and sides of the demonstration's sensors, the same in every bench of it.

    The first worker that needs it makes it for all.
    """
    if worker_id == "master":
        return _calibrated(tmp_path_factory.mktemp("home"))
    home = tmp_path_factory.getbasetemp().parent / "home"
    with FileLock(f"{home}.lock"):
        return home if home.exists() else _calibrated(home)


def _calibrated(home: Path) -> Path:
    with VirtualBench(SCENARIO) as bench:
        person = Person(bench, home)
        assert person.calibrate().status == 0
        assert person.take_datum().status == 0
        (board,) = person.run("boards", "--json").data["boards"]
    save_sides(Store(home), dict(zip(BOTH, (one["sensor_id"] for one in board["sensors"]), strict=True)))
    return home


@pytest.fixture
def person(calibrated_home, tmp_path):
    """Somebody before the bench of the demonstration, with calibrated sensors and a datum of their own."""
    home = shutil.copytree(calibrated_home, tmp_path / "home")
    with VirtualBench(SCENARIO) as bench:
        yield Person(bench, home)


@pytest.fixture
def sheet() -> str:
    """The rigging sheet of the demonstration."""
    return str(SHEET)
