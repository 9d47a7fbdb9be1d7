"""The sceptical expert, for the tests of commands."""

import shutil

import pytest
from tests.host.cli.sceptic import write_scenario
from tests.host.person import Person

from hingeline_virtual.client import VirtualBench


@pytest.fixture
def expert(calibrated_home, tmp_path):
    """An expert before the bench, with calibrated sensors."""
    with VirtualBench(write_scenario(tmp_path / "sceptic.toml")) as bench:
        yield Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))
