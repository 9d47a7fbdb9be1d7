"""Throws taken several times: every cycle tells the same rows, from its own readings."""

import pytest
from tests.host.checks.conftest import instrument, rest

from hingeline.checks.throws import ThrowsCheck
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH

SHEET = """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
[surface.aileron]
throws.normal = { up = "12 deg", down = "8 deg" }
"""


@pytest.fixture
def told(tmp_path):
    """Return what tells of some positions, by their numbers, in a cycle: (command, what) each."""
    path = tmp_path / "even.rig.toml"
    path.write_text(SHEET)
    begun = ThrowsCheck(load_sheet(path), "aileron", NeutralReading(tuple(map(instrument, BOTH)), rest(0.0, 0.0)))

    def tell(*numbers, cycle=1, check=begun):
        rows = []
        for position in map(begun.positions.__getitem__, numbers):
            goals = rest(*(position.targets[side].deflection_deg for side in BOTH))
            check, reading = check.read(position, goals, cycle)
            rows += [(position.command, judgement.name) for judgement in reading.judgements]
        return check, rows

    return tell


def test_each_cycle_of_what_moves_opposed_tells_the_same_rows(told):
    check, first = told(0, 1)
    others = []
    for cycle in (2, 3):
        check, rows = told(0, 1, cycle=cycle, check=check)
        others.append(rows)
    assert len(first) == 6
    assert [what for _, what in first][-2:] == ["left - right down", "left - right up"]
    assert others == [first, first]


def test_after_both_were_taken_back_the_same_rows_are_told(told):
    _, first = told(0, 1)
    _, again = told(0, 1)
    assert again == first


def test_after_the_second_was_taken_back_it_tells_the_same_rows(told):
    once, _ = told(0)
    _, both = told(0, 1)
    _, first = told(1, check=once)
    _, again = told(1, check=once)
    assert both[-4:] == first == again
