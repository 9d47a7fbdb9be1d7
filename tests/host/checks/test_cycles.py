"""Throws taken several times: every cycle tells the same rows, from its own readings."""

import numpy as np
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument, up_g

from hingeline.checks.throws import ThrowsCheck
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline_calibration.still import summarise

SHEET = """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
[surface.aileron]
throws.normal = { up = "12 deg", down = "8 deg" }
"""


def rest(left_deg, right_deg):
    """Return a rest of both sensors."""
    return {
        f"b-{side}": summarise(
            np.arange(50) / LINES_HZ, COUNTS_PER_G * up_g(np.full(50, deflection_deg)), [None] * 50
        )
        for side, deflection_deg in zip(BOTH, (left_deg, right_deg), strict=True)
    }


def test_each_cycle_of_what_moves_opposed_tells_the_same_rows(tmp_path):
    path = tmp_path / "even.rig.toml"
    path.write_text(SHEET)
    check = ThrowsCheck(load_sheet(path), "aileron", tuple(map(instrument, BOTH)), rest(0.0, 0.0))
    rows = {
        cycle: [
            (position.command, judgement.what)
            for position in check.positions
            for judgement in check.read(
                position, rest(*(position.targets[side].deflection_deg for side in BOTH)), cycle
            ).judgements
        ]
        for cycle in (1, 2, 3)
    }
    assert len(rows[1]) == 6
    assert [what for _, what in rows[1]][-2:] == ["left - right down", "left - right up"]
    assert rows[1] == rows[2] == rows[3]
