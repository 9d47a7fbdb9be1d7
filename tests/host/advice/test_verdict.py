"""MORE, WITHIN, LESS; LOW, MATCHED, HIGH: which way each is."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hingeline.advice.verdict import (
    MOVED,
    edge,
    judge_match,
    judge_neutral,
    judge_throw,
    judge_throw_match,
    verdict_text,
)
from hingeline.units import amount, signed

angles = st.floats(-60, 60).map(lambda value: round(value, 3))


def text_of(verdict, side=""):
    return verdict_text(verdict.word, verdict.gap, verdict.unit, side)


@pytest.mark.parametrize(
    ("measured", "target", "word", "gap", "text"),
    [
        (10.0, 12.0, "MORE", 2.0, "MORE 2.0°"),
        (13.0, 12.0, "LESS", -1.0, "LESS 1.0°"),
        (11.6, 12.0, "WITHIN", 0.4, "WITHIN (0.40° off)"),
        (-10.0, -12.0, "MORE", 2.0, "MORE 2.0°"),
        (-13.0, -12.0, "LESS", -1.0, "LESS 1.0°"),
        (-12.0, 12.0, "MORE", 24.0, "MORE 24.0°"),
    ],
)
def test_throw(measured, target, word, gap, text):
    verdict = judge_throw(measured, target, 0.5)
    assert (verdict.word, verdict.gap, verdict.unit) == (word, pytest.approx(gap), "deg")
    assert verdict.inside == (word == "WITHIN")
    assert text_of(verdict) == text


def test_neutral_with_a_mark():
    assert text_of(judge_neutral(-0.4, 0.0, 0.3)) == "0.40° LOW"
    assert text_of(judge_neutral(2.0, 1.5, 0.3)) == "0.50° HIGH"


def test_match_tells_the_side_that_moves():
    # the left one stands higher: the right one goes up
    assert text_of(judge_match(0.5, 0.0, 0.2), MOVED) == "RIGHT 0.50° LOW"
    assert text_of(judge_match(0.5, 0.4, 0.2), MOVED) == "MATCHED"


@pytest.mark.parametrize("way", [1, -1])
def test_match_of_throws_goes_along_the_throw(way):
    # the left one throws further: the right one adds, up or down
    verdict = judge_throw_match(way * 26.4, way * 22.9, way * 24.5, 0.5)
    assert text_of(verdict, MOVED) == "right 3.5° short of left"
    assert judge_throw_match(way * 22.9, way * 26.4, way * 24.5, 0.5).word == "LESS"


def test_a_gap_as_large_as_the_tolerance_holds():
    # 12.3 - 12.0 is 0.3000000000000007 in binary
    assert judge_throw(12.0, 12.3, 0.3, "mm").inside
    assert not judge_throw(12.0, 12.301, 0.3, "mm").inside


def test_units():
    assert [amount(0.125, "in"), amount(1.25, "in"), amount(0.34, "mm"), amount(12.34, "mm")] == [
        "0.125 in",
        "1.25 in",
        "0.34 mm",
        "12.3 mm",
    ]
    assert edge(-2.0, "mm") == "trailing edge down 2.0 mm"


@given(angles, angles.filter(bool), st.floats(0.05, 2))
def test_up_and_down_are_judged_alike(measured, target, tolerance):
    up, down = judge_throw(measured, target, tolerance), judge_throw(-measured, -target, tolerance)
    assert up == replace(down, target=target)


@given(angles, angles, st.floats(0.05, 2))
def test_what_is_asked_for_is_what_brings_the_right_side_to_matched(left, right, tolerance):
    verdict = judge_match(left, right, tolerance)
    assert verdict.word == ("MATCHED" if verdict.inside else "LOW" if left > right else "HIGH")
    assert judge_match(left, right + verdict.gap, tolerance).inside
    assert judge_match(right, left, tolerance).gap == -verdict.gap


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [(-0.001, 2, "+0.00"), (0.0, 2, "+0.00"), (-0.0, 2, "+0.00"), (-0.006, 2, "-0.01"), (-0.04, 1, "+0.0")],
)
def test_what_rounds_to_nothing_is_not_less_than_nothing(value, decimals, text):
    assert signed(value, decimals) == text
