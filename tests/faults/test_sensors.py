"""What goes wrong with a sensor is told, or does no harm: the rows of docs/faults.md."""

from pathlib import Path

import pytest
from tests.faults.sensor_bench import run
from tests.faults.sensors import ALONG, TRIALS

PAGE = Path(__file__).parents[2] / "docs" / "faults.md"


@pytest.mark.long
@pytest.mark.parametrize("trial", TRIALS, ids=lambda one: f"{one.command[0]}: {one.fault}")
def test_a_fault_is_told_or_does_no_harm(trial):
    result = run(trial)
    assert result.held, (result.status, result.error_deg, result.reach_deg, result.said)
    if trial.command[0] == "throws" and ALONG in trial.asked[0][1]:
        assert not result.bounded, "a trial that shows nothing"


def test_the_page_has_every_fault():
    told = PAGE.read_text(encoding="utf-8")
    for trial in TRIALS:
        assert f"| {trial.fault} | {trial.command[0]} |" in told
