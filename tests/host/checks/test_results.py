"""What is written of a result is read as the same result, and what is no result is refused."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from hingeline.checks.results import (
    KINDS,
    Caution,
    CheckResult,
    DirectionResult,
    DriftCheck,
    LimitResult,
    NeutralResult,
    Seat,
    SideDirection,
    SidesResult,
    Step,
    ThrowResult,
    form_of,
    kind_of,
    read_result,
    write_result,
)
from hingeline.checks.values import Angle, Judgement, Travel

numbers = st.integers(-900_000, 900_000).map(lambda value: value / 10_000)
"""No more decimals than are written."""
words = st.text(st.characters(categories=["L", "N", "P", "Zs"], exclude_characters="\u3000"), max_size=12).filter(
    str.isprintable
)
intervals = st.tuples(numbers, numbers)
sides = st.sampled_from(["left", "right", "middle"])
angles = st.builds(Angle, numbers, numbers, intervals, st.dictionaries(words, numbers, max_size=2))
travels = st.builds(Travel, numbers, words, intervals, numbers)
judgements = st.builds(
    Judgement,
    name=words,
    measured=angles,
    unit=st.sampled_from(["deg", "mm"]),
    target=numbers,
    tolerance=numbers,
    gap=numbers,
    verdict=st.sampled_from(["MORE", "WITHIN", "LESS", "LOW", "MATCHED", "HIGH", "NO VERDICT"]),
    inside=st.booleans(),
    travel=st.none() | travels,
    advice=words,
    setting_percent=st.none() | numbers,
)
many = st.lists(judgements, max_size=2).map(tuple)
limits = st.builds(
    LimitResult,
    words,
    numbers,
    st.sampled_from(["deg", "mm", "ratio"]),
    numbers,
    intervals,
    numbers,
    st.booleans(),
)
series = st.dictionaries(sides, st.lists(numbers, max_size=3).map(tuple), max_size=2)
seats = st.builds(Seat, words, st.tuples(numbers, numbers, numbers))
results = st.one_of(
    st.builds(
        NeutralResult,
        words,
        many,
        st.booleans(),
        st.none() | numbers,
        st.dictionaries(sides, angles, max_size=2),
    ),
    st.builds(ThrowResult, words, words, words, many, st.booleans(), st.none() | numbers, st.integers(1, 9)),
    st.builds(
        CheckResult,
        words,
        st.sampled_from(["sweep", "a check of another day"]),
        st.lists(limits, max_size=2).map(tuple),
        steps=st.lists(st.builds(Step, numbers, st.just("rising"), numbers, numbers), max_size=2).map(tuple),
        each_second_deg=series,
        rests_deg=st.dictionaries(sides, st.dictionaries(words, st.lists(numbers).map(tuple), max_size=2), max_size=2),
    ),
    st.builds(
        DirectionResult,
        words,
        words,
        st.dictionaries(sides, st.builds(SideDirection, numbers, words, words, st.booleans())),
    ),
    st.builds(
        SidesResult,
        words,
        st.dictionaries(sides, st.builds(Seat, words, st.tuples(numbers, numbers, numbers))),
    ),
    st.builds(Caution, words),
    st.builds(DriftCheck, st.dictionaries(words, numbers, max_size=2), words, st.booleans()),
)


@given(results)
def test_what_is_written_is_read_as_the_same(result):
    written = json.loads(json.dumps(write_result(result), allow_nan=False))
    form = form_of(kind_of(result), written)
    assert form is type(result)
    assert read_result(form, written) == result


@pytest.mark.parametrize("form", [*KINDS.values(), CheckResult])
@pytest.mark.parametrize("fields", [{}, {"surface": 5}, {"text": None}, {"drift_deg": {"a": math.nan}}])
def test_what_is_no_result_is_refused(form, fields):
    with pytest.raises(ValidationError):
        read_result(form, fields)


def test_text_that_steers_a_terminal_is_made_printable():
    assert read_result(Caution, {"text": "\x1b[2Jgone"}) == Caution("\N{REPLACEMENT CHARACTER}[2Jgone")


ANGLE = {"deg": 1.0, "standard_uncertainty_deg": 0.1, "interval_95_deg": [0.8, 1.2]}
"""An angle of a run that was recorded before sources and some other fields were."""
JUDGED = {
    "name": "left",
    "measured": ANGLE,
    "unit": "deg",
    "target": 2.0,
    "tolerance": 0.5,
    "gap": 1.0,
    "verdict": "MORE",
    "inside": False,
}
BESIDE_A_LIMIT = {
    "name": "play",
    "value": 0.2,
    "unit": "deg",
    "standard_uncertainty": 0.1,
    "limit": 0.5,
    "interval_95": [0.0, 0.4],
    "inside": True,
}


@pytest.mark.parametrize(
    ("form", "fields", "left_out"),
    [
        (
            ThrowResult,
            {"surface": "flap", "mode": "normal", "command": "down", "judgements": []},
            {"inside": True, "moved_deg": None, "cycle": 1},
        ),
        (NeutralResult, {"surface": "flap", "judgements": []}, {"inside": True, "moved_deg": None, "angles": {}}),
        (DriftCheck, {"drift_deg": {"a": 0.01}}, {"date": "", "holds": True}),
        (CheckResult, {"surface": "flap", "check": "droop", "results": []}, {"inside": True, "opposed": None}),
        (DirectionResult, {"surface": "flap", "command": "Stick back", "sides": {}}, {"inside": True, "call": ""}),
        (
            LimitResult,
            BESIDE_A_LIMIT,
            {"expected": 0.0, "close": False, "candidates": ()},
        ),
        (
            Step,
            {"position_deg": 1.0, "way": "rising", "left_minus_right_deg": 0.2},
            {"standard_uncertainty_deg": 0.0, "lines": 0},
        ),
        (
            Travel,
            {"mm": 5.0, "convention": "ruler", "interval_95_mm": [4.0, 6.0]},
            {"standard_uncertainty_mm": 0.0, "reach_mm": 1.0},
        ),
        (
            Judgement,
            JUDGED,
            {"off": "right", "close": False, "wrong": False, "moves_deg": 0.0, "setting_percent": None, "advice": ""},
        ),
    ],
)
def test_what_an_older_run_left_out_is_what_nobody_had_to_be_told(form, fields, left_out):
    """Nothing off, nothing moved, nothing to turn, the first cycle."""
    result = TypeAdapter(form).validate_python(fields)
    assert {name: getattr(result, name) for name in left_out} == left_out
