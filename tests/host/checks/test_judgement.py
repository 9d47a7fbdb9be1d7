"""Where there is no verdict: MATCHED takes an uncertainty within the tolerance; what is surely out needs none."""

import math

import pytest

from hingeline.advice import Advice
from hingeline.advice.verdict import judge_neutral
from hingeline.checks.judgement import Comparison, compare, judge, worded
from hingeline.checks.results import write_result
from hingeline.measure.cautions import Doubt
from hingeline.rig import parse_sheet
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection


@pytest.mark.parametrize(
    ("off_deg", "sd_deg", "sound", "word"),
    [
        (0.1, 0.17, True, "MATCHED"),  # ±0.33
        (0.1, 0.18, True, "NO VERDICT"),  # ±0.35
        (0.1, 3.9, True, "NO VERDICT"),
        (-1.0, 0.18, True, "LOW"),
        (1.0, 0.18, True, "HIGH"),
        (0.1, 0.1, False, "NO VERDICT"),
        (1.0, 0.1, False, "NO VERDICT"),
    ],
)
def test_a_good_word_takes_an_uncertainty_within_the_tolerance(off_deg, sd_deg, sound, word):
    angle = Deflection(off_deg, Budget.of([("datum closure", sd_deg)]))
    verdict = judge_neutral(off_deg, 0.0, 0.34)
    judgement = judge("left", Comparison(angle, verdict, wrong=None if sound else Doubt("it slipped", "press it on")))
    assert (judgement.verdict, judgement.inside) == (word, word == "MATCHED")
    assert judgement.verdict_text.endswith(word)
    assert bool(judgement.reason) == bool(judgement.cure) == (word == "NO VERDICT")
    assert write_result(judgement)["verdict"] == word


@pytest.mark.parametrize(
    ("kind", "up", "down"),
    [("rudder", "left", "right"), ("elevator", "up", "down"), ("v-tail", "up", "down")],
)
def test_a_rudder_goes_left_and_right(kind, up, down):
    for way, said in (("up", up), ("down", down)):
        advice = worded(Advice(f"turn the clevis: trailing edge {way} 1.9°", 1.9), kind)
        assert advice == Advice(f"turn the clevis: trailing edge {said} 1.9°", 1.9)


def test_where_the_uncertainty_leaves_no_verdict_nothing_is_advised():
    """As after a drift check that failed: a clevis turned by a gap of noise spoils the neutral."""
    angle = Deflection(0.1, Budget.of([("datum closure", 3.9)]))
    judgement = judge("left", Comparison(angle, judge_neutral(0.1, 0.0, 0.05)), advice=Advice("turn the clevis", 0.1))
    assert (judgement.verdict, judgement.advice, judgement.moves_deg) == ("NO VERDICT", "", 0.0)
    assert judgement.cure


def target_of(travel):
    """A throw of a 50 mm chord, as a manual gives it."""
    text = f"""
schema_version = 1
aircraft = "Even"
modes = ["normal"]
convention = "height"
[surface.flap]
chord = "50 mm"
tolerances = {{ throw = "0.5 mm" }}
throws.normal = {{ up = "{travel}" }}
"""
    return parse_sheet(text, "even").targets("flap", "normal")[0]


def test_a_throw_in_mm_is_known_as_well_as_its_millimetres():
    """10° at 50 mm are 8.68 mm; ±0.3° are ±0.26 mm: within half a millimetre, though not within 0.1°.

    The chord's own 0.3 mm of 50 count for nothing: target and reading share them.
    """
    angle = Deflection(10.0, Budget.of([("noise", 0.153)]))
    comparison = compare(target_of("8.68 mm"), angle)
    assert (comparison.verdict.unit, comparison.verdict.tolerance) == ("mm", 0.5)
    assert comparison.verdict.gap == pytest.approx(0.0, abs=0.005)
    assert dict(comparison.budget.items())["chord"] == pytest.approx(8.68 * 0.3 / 50, abs=0.001)
    assert dict(comparison.budget.items())["noise"] == pytest.approx(
        50 * math.cos(math.radians(10)) * math.radians(0.153)
    )
    assert comparison.is_known
    assert not compare(target_of("8.68 mm"), Deflection(10.0, Budget.of([("noise", 0.31)]))).is_known
    assert judge("left", comparison).verdict == "WITHIN"


@pytest.mark.parametrize(("key", "sd_mm"), [("", 0.3), ('chord_accuracy = "0.1 mm"', 0.05)])
def test_a_chord_that_was_measured_better_limits_less(key, sd_mm):
    """By ruler a travel is 2 c sin(δ/2): its uncertainty from the chord is 2 sin(δ/2) of the chord's (GUM 5.1.2)."""
    text = (
        'schema_version = 1\naircraft = "Even"\nmodes = ["normal"]\n[surface.elevator]\nchord = "50 mm"\n'
        f'{key}\nthrows.normal = {{ up = "20 mm" }}\n'
    )
    (target,) = parse_sheet(text, "even").targets()
    travel = compare(target, Deflection(20.0, Budget.of([("noise", 0.0)]))).travel
    assert travel.standard_uncertainty_mm == pytest.approx(2 * math.sin(math.radians(10.0)) * sd_mm, rel=0.03)


def test_a_throw_in_degrees_is_known_as_well_as_its_degrees():
    """±0.3° is within half a degree, whatever its millimetres at the chord are."""
    comparison = compare(target_of("10 deg"), Deflection(10.0, Budget.of([("noise", 0.153)])))
    assert comparison.verdict.unit == "deg"
    assert comparison.travel is not None
    assert comparison.budget.items() == (("noise", 0.153),)
