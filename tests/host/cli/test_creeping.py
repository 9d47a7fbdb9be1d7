"""A surface that creeps toward its end, through the real command: truth beside reading."""

import shutil

import pytest
from tests.host.cli.sceptic import readings, show, surfaces, throws, write_scenario
from tests.host.person import Person

from hingeline.rig.kinds import BOTH
from hingeline_virtual.client import VirtualBench

TRUE_DEG = 20.0
SLOW = {"ringing_hz": 0.12, "damping": 0.9}
"""The linkage goes to its end as exp(-ζωt): a time constant of 1.5 s, from 1° off to 0.05° off in 4.5 s."""


@pytest.fixture
def creeper(calibrated_home, tmp_path):
    """Somebody before a bench whose linkages take their time."""
    slow = [{**each, **SLOW} for each in surfaces()]
    with VirtualBench(write_scenario(tmp_path / "creeping.toml", surfaces=slow)) as bench:
        yield Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))


def test_a_creeping_surface_is_read_within_its_interval(creeper):
    outcome = throws(creeper, "height", "up")
    told = readings(outcome, "height", "up")
    for side in BOTH:
        measured = told[side]["measured"]
        show(f"creeping, {side}", TRUE_DEG, measured["deg"], 0.3)
        low, high = measured["interval_95_deg"]
        print(f"stated {low:.2f} to {high:.2f}")
        assert low <= TRUE_DEG <= high
