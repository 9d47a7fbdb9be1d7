"""A sensor that leaned along the hinge line: its angle is known to be wrong, and there is no verdict on it."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.host.checks.conftest import COUNTS_PER_G, LINES_HZ, instrument, up_g

from hingeline.advice.verdict import judge_throw
from hingeline.checks.judgement import Comparison, judge
from hingeline.checks.positions import NEUTRAL, Position
from hingeline.checks.throws import ThrowsCheck
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import load_sheet
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection
from hingeline_calibration.still import summarise

SHEET = """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
[surface.elevator]
throws.normal = { up = "20 deg", down = "20 deg" }
"""


def rest(deflection_deg, leaned_deg=0.0):
    """Return a rest of the one sensor, leaned along the hinge line."""
    lean = Rotation.from_rotvec([0.0, leaned_deg, 0.0], degrees=True)
    counts = COUNTS_PER_G * lean.apply(up_g(np.full(50, deflection_deg)))
    return {"b-middle": summarise(np.arange(50) / LINES_HZ, counts, [None] * 50)}


@pytest.fixture
def check(tmp_path):
    path = tmp_path / "even.rig.toml"
    path.write_text(SHEET)
    return ThrowsCheck(load_sheet(path), "elevator", NeutralReading((instrument("middle"),), rest(0.0)))


@pytest.mark.parametrize(("command", "deflection_deg", "good"), [("up", 20.0, "WITHIN"), (NEUTRAL, 0.0, "MATCHED")])
@pytest.mark.parametrize("leaned_deg", [0.0, 4.0])
def test_what_leaned_along_the_hinge_line_has_no_verdict(check, command, deflection_deg, good, leaned_deg):
    position = Position("normal", NEUTRAL) if command == NEUTRAL else check.positions[0]
    _, reading = check.read(position, rest(deflection_deg, leaned_deg))
    (judgement,) = reading.judgements
    leaned = leaned_deg > 0
    assert judgement.verdict == ("NO VERDICT" if leaned else good)
    assert judgement.inside is not leaned
    assert ("along the hinge line" in judgement.reason) is leaned


def test_a_sensor_that_slipped_both_ways_is_told_of_both(check):
    _, reading = check.read(Position("normal", NEUTRAL), rest(2.0, 4.0))
    (judgement,) = reading.judgements
    assert "it came back 2.0° off" in judgement.advice
    assert "along the hinge line" in judgement.reason


def test_without_a_verdict_there_is_no_close_call():
    at_the_limit = Deflection(19.0, Budget.of([("noise", 0.02)]))
    verdict = judge_throw(19.0, 20.0, 1.0)
    judgement = judge("left", Comparison(at_the_limit, verdict))
    assert judgement.inside
    assert judgement.close
    assert judgement.verdict_text == "WITHIN (1.0° off)"
    unsound = judge("left", Comparison(at_the_limit, verdict, wrong=Doubt("it slipped", "press it on")))
    assert not unsound.inside
    assert not unsound.close
    assert unsound.verdict_text == "NO VERDICT"
