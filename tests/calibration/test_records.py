"""What is stored is read strictly: another kind, version, type, shape or size is refused, and nothing is guessed."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from hingeline_calibration.errors import BadRecord, NewerRecord
from hingeline_calibration.records import (
    NOT_KEPT,
    array_of,
    date_of,
    number_of,
    number_or_none,
    plain,
    read_record,
    rows_of,
    table_of,
    text_of,
)


@dataclass
class Inner:
    values: np.ndarray
    scratch: int = field(default=0, metadata=NOT_KEPT)


def test_records_are_plain_values_without_what_is_not_kept() -> None:
    record = {"part": Inner(np.eye(2)), "names": ("a", "b"), "number": 1.5, "nothing": None}
    assert plain(record) == {
        "part": {"values": [[1.0, 0.0], [0.0, 1.0]]},
        "names": ["a", "b"],
        "number": 1.5,
        "nothing": None,
    }


@pytest.mark.parametrize("version", [1, 2])
def test_a_record_of_its_kind_is_read_up_to_the_newest_format(version: int) -> None:
    assert read_record({"kind": "datum", "format": version, "value": 3}, "datum", 2, dict) == {"value": 3}


@pytest.mark.parametrize(
    ("record", "error", "words"),
    [
        ({"kind": "datum", "format": 3}, NewerRecord, "a datum of format 3, expected at most 2"),
        ({"kind": "other", "format": 1}, BadRecord, "kind 'other', format 1, expected a datum"),
        ({"kind": "datum", "format": "1"}, BadRecord, "format '1'"),
        ({"kind": "datum"}, BadRecord, "format None"),
        ({}, BadRecord, "kind None"),
        ([], BadRecord, "expected a datum"),
    ],
)
def test_any_other_record_is_refused(record: object, error: type[Exception], words: str) -> None:
    with pytest.raises(error, match=words):
        read_record(record, "datum", 2, dict)  # type: ignore[arg-type]


@pytest.mark.parametrize("raised", [KeyError("x"), TypeError("x"), ValueError("x"), OverflowError(), RecursionError()])
def test_whatever_is_wrong_within_a_record_is_a_bad_record(raised: Exception) -> None:
    def build(_: dict[str, object]) -> None:
        raise raised

    with pytest.raises(BadRecord, match="a datum that can't be read"):
        read_record({"kind": "datum", "format": 1}, "datum", 1, build)


# A thousand million million is the most that is taken, of either sign.
@pytest.mark.parametrize("value", [0, -3, 1.5, 1e15, -1e15])
def test_a_number_is_a_number(value: float) -> None:
    assert number_of(value) == value
    assert number_or_none(value) == value
    assert array_of([value, 0.0], 2).tolist() == [value, 0.0]


@pytest.mark.parametrize("value", [True, "1", None, [], float("nan"), float("inf"), 1.1e15, -1.1e15, 10**400])
def test_anything_else_is_none(value: object) -> None:
    with pytest.raises(ValueError, match="expected a number from"):
        number_of(value)


def test_a_number_may_have_a_least() -> None:
    assert number_of(0.0, 0.0) == 0.0
    with pytest.raises(ValueError, match="expected a number from 0 to"):
        number_of(-0.1, 0.0)
    assert number_or_none(None) is None


@pytest.mark.parametrize("value", [[1.0], [[1.0, 2.0]], ["a", "b"], [True, False], [1e16, 0.0], [float("nan"), 0.0]])
def test_an_array_has_its_shape_and_finite_numbers(value: object) -> None:
    with pytest.raises(ValueError, match="expected"):
        array_of(value, 2)


def test_integers_become_doubles() -> None:
    assert array_of([1, 2], 2).dtype == float


@pytest.mark.parametrize("text", ["2026-03-01T10:00:00+00:00", "2026-03-01T10:00:00-08:00", "2026-03-01 10:00+01:00"])
def test_a_date_has_its_offset(text: str) -> None:
    assert date_of(text) == text


@pytest.mark.parametrize("text", ["2026-03-01T10:00:00", "2026-03-01", "yesterday", "", 5, None])
def test_a_date_without_one_is_none(text: object) -> None:
    with pytest.raises(ValueError, match=r"."):
        date_of(text)


def test_rows_and_tables_are_read_part_by_part() -> None:
    assert rows_of(["1", "2"], lambda row: int(str(row))) == (1, 2)
    assert rows_of((), text_of) == ()
    assert table_of({"a": 1}, number_of) == {"a": 1}
    for reader, value in ((rows_of, "ab"), (rows_of, {"a": 1}), (table_of, [1]), (table_of, {1: 2})):
        with pytest.raises(ValueError, match="expected a"):
            reader(value, lambda part: part)  # type: ignore[operator]
