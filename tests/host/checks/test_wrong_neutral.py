"""A neutral whose gravity is off: no verdict, nothing to turn, and nothing of it is remembered for the next advice."""

from dataclasses import replace

import pytest
from tests.host.checks.conftest import instrument, rest

from hingeline.checks.neutral import NeutralCheck
from hingeline.measure.neutral import NeutralReading
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH

SHEET = """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
[surface.tab]
kind = "elevator"
sides = ["left", "right"]
neutral.faired = "2 deg up"
throws.normal = { up = "12 deg", down = "8 deg" }
"""


@pytest.fixture
def check(tmp_path):
    """Both sides belong 2° above the faired position."""
    path = tmp_path / "even.rig.toml"
    path.write_text(SHEET)
    faired = NeutralReading(tuple(map(instrument, BOTH)), rest(0.0, 0.0))
    return NeutralCheck(load_sheet(path), "tab", faired.instruments, faired)


def read(check, left_deg, right_deg, left_scale=1.0):
    readings = rest(left_deg, right_deg)
    left = readings["b-left"]
    following, result = check.read({**readings, "b-left": replace(left, mean_counts=left_scale * left.mean_counts)})
    return following, {judgement.name: judgement for judgement in result.judgements}


def test_a_side_off_its_place_is_advised_and_its_trim_remembered(check):
    following, judged = read(check, 0.5, 2.1)
    assert (judged["left"].verdict, bool(judged["left"].advice)) == ("LOW", True)
    assert (judged["right"].verdict, judged["right"].advice) == ("MATCHED", "")
    assert "left" in following.trims


def test_a_side_whose_gravity_is_5_percent_long_is_not(check):
    """A scale that went off: nobody knows where the side is, so nobody is sent to its clevis."""
    following, judged = read(check, 0.5, 2.1, left_scale=1.05)
    assert (judged["left"].verdict, judged["left"].advice) == ("NO VERDICT", "")
    assert "1.050 g" in judged["left"].reason
    assert "left" not in following.trims
    assert judged["right"].verdict == "MATCHED"
    (matched,) = (judgement for name, judgement in judged.items() if name.startswith("left - right"))
    assert matched.verdict == "NO VERDICT"
    assert matched.reason.startswith("left: ")
    assert (matched.advice, matched.effect) == ("", "")


@pytest.mark.parametrize("scale", [1.0, 1.05])
def test_the_moment_says_it_too(check, scale):
    readings = rest(0.5, 2.1)
    left = readings["b-left"]
    moments = check.moments({**readings, "b-left": replace(left, mean_counts=scale * left.mean_counts)})
    doubts = {moment.side: moment.doubt for moment in moments}
    assert ("NO VERDICT" in doubts["left"]) == (scale != 1.0)
    assert not doubts["right"]
    assert {moment.side: moment.wanted_deg for moment in moments} == {"left": 2.0, "right": 2.0}
