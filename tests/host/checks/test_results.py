"""What is written of a result is read as the same result, and what is no result is refused."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

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
