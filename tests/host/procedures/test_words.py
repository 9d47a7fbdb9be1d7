"""Judgements in words, typed as a reader gets them."""

import pytest

from hingeline.checks.values import Angle, Judgement, Travel
from hingeline.procedures.words import brief_text, judgement_text, moved_text

ANGLE = Angle(-24.0, 0.05, (-24.1, -23.9))


def judgement(**changes):
    fields = {
        "name": "left",
        "measured": ANGLE,
        "unit": "deg",
        "target": -24.5,
        "tolerance": 0.3,
        "gap": 0.5,
        "verdict": "MORE",
        "inside": False,
    }
    return Judgement(**{**fields, **changes})


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({}, "left          -24.00° ±0.10  target -24.50° ±0.30  MORE 0.50°"),
        (
            {"travel": Travel(-19.96, "chord", (-20.04, -19.88)), "unit": "mm", "target": -20.4, "gap": 0.44},
            "left          -24.00° ±0.10   -19.96 mm ±0.08 (chord)  target -20.40 mm ±0.30  MORE 0.44 mm",
        ),
        (
            {"close": True, "streamwise_deg": -21.1},
            "left          -24.00° ±0.10  target -24.50° ±0.30  "
            "MORE 0.50°, but the limit is within the uncertainty  -21.10° streamwise",
        ),
        (
            {"advice": "100 → 108 %", "effect": "rolls left"},
            "left          -24.00° ±0.10  target -24.50° ±0.30  MORE 0.50°\n"
            "             100 → 108 %\n             rolls left",
        ),
    ],
)
def test_a_judgement_has_a_line_and_what_follows_from_it_below(changes, text):
    assert judgement_text(judgement(**changes)) == text


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({}, "left MORE 0.50°"),
        ({"close": True}, "left MORE 0.50° (limit within ±)"),
        ({"advice": "100 → 108 %"}, "left MORE 0.50°: 100 → 108 %"),
        (
            {"verdict": "NO VERDICT", "reason": "it slipped", "cure": "press it on"},
            "left NO VERDICT: it slipped: press it on",
        ),
        ({"name": "left - right", "off": "right"}, "right 0.50° short of left"),
    ],
)
def test_from_afar_verdict_and_advice_are_enough(changes, text):
    assert brief_text(judgement(**changes)) == text


def test_a_turn_of_both_sides_alike_may_be_the_models():
    assert moved_text(None) == ""
    assert moved_text(-1.234).startswith("Both sides have turned -1.23° alike")
    assert moved_text(0.0) != ""
