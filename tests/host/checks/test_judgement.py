"""Where there is no verdict: HOLD takes an uncertainty within the tolerance; what is surely out needs none."""

import pytest

from hingeline.advice.verdict import judge_neutral
from hingeline.checks.judgement import Advice, Judgement, worded
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection


@pytest.mark.parametrize(
    ("off_deg", "sd_deg", "sound", "word"),
    [
        (0.1, 0.17, True, "HOLD"),  # ±0.33
        (0.1, 0.18, True, "no verdict"),  # ±0.35
        (0.1, 3.9, True, "no verdict"),
        (-1.0, 0.18, True, "ADD"),
        (1.0, 0.18, True, "EASE"),
        (0.1, 0.1, False, "no verdict"),
        (1.0, 0.1, False, "no verdict"),
    ],
)
def test_hold_takes_an_uncertainty_within_the_tolerance(off_deg, sd_deg, sound, word):
    angle = Deflection(off_deg, Budget.of([("datum closure", sd_deg)]))
    verdict = judge_neutral(off_deg, 0.0, 0.34)
    judgement = Judgement("left", angle, None, 0.0, 0.34, verdict, Advice(), sound=sound)
    assert (judgement.word, judgement.inside) == (word, word == "HOLD")
    assert judgement.verdict_text.startswith(word)
    assert judgement.to_dict()["verdict"] == word


@pytest.mark.parametrize(
    ("kind", "up", "down"),
    [("rudder", "left", "right"), ("elevator", "up", "down"), ("v-tail", "up", "down")],
)
def test_a_rudder_goes_left_and_right(kind, up, down):
    for way, said in (("up", up), ("down", down)):
        advice = worded(Advice(f"turn the clevis: trailing edge {way} 1.9°", 1.9), kind)
        assert advice == Advice(f"turn the clevis: trailing edge {said} 1.9°", 1.9)
