"""What is stored, as plain values; and its reading: the version first, then every key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from hingeline_calibration.errors import BadRecord, NewerRecord

_T = TypeVar("_T")
_LARGEST = 1e15
"""No count, angle or covariance here comes near it; squared and summed it is finite."""
NOT_KEPT = {"kept": False}
"""The metadata of a dataclass's field that is not stored."""


def read_record(record: Mapping[str, object], kind: str, newest: int, build: Callable[[dict[str, object]], _T]) -> _T:
    """Check kind and format of a stored record and build its object.

    Raises
    ------
    NewerRecord
        Its format is later than `newest`.
    BadRecord
        Another kind, a missing key or a value of another type or shape.
    """
    if not isinstance(record, Mapping):
        raise BadRecord(f"{record!r:.60}, expected a {kind}", "Name the right file")
    values = dict(record)
    given, version = values.pop("kind", None), values.pop("format", None)
    if given != kind or not isinstance(version, int):
        raise BadRecord(f"a record of kind {given!r}, format {version!r}, expected a {kind}", "Name the right file")
    if version > newest:
        raise NewerRecord(
            f"a {kind} of format {version}, expected at most {newest}",
            "Update hingeline: pip install --upgrade hingeline",
        )
    try:
        return build(values)
    except (KeyError, TypeError, ValueError, OverflowError, RecursionError) as error:
        raise BadRecord(
            f"a {kind} that can't be read: {error!r:.200}", "Restore it from the history, or measure again"
        ) from error


def plain(value: object) -> Any:
    """The plain JSON-able values of a record: dataclasses and mappings as tables, arrays and tuples as lists."""
    if is_dataclass(value):
        kept = (part.name for part in fields(value) if part.metadata.get("kept", True))
        return {name: plain(getattr(value, name)) for name in kept}
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, Mapping):
        return {name: plain(part) for name, part in value.items()}
    return [plain(part) for part in value] if isinstance(value, tuple) else value


def array_of(value: object, *shape: int) -> NDArray[np.float64]:
    """An array of a shape, of numbers that can be squared and summed. Raises `ValueError` for anything else."""
    array = np.array(value)
    if array.dtype.kind not in "if" or array.shape != shape or not (np.abs(array) <= _LARGEST).all():
        raise ValueError(f"shape {array.shape} or values, expected {shape} of at most {_LARGEST:g}")
    return array.astype(float)


def number_of(value: object, least: float = -_LARGEST) -> float:
    """A number from `least` up. Raises `ValueError` for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= _LARGEST:
        raise ValueError(f"{value!r}, expected a number from {least:g} to {_LARGEST:g}")
    return value


def number_or_none(value: object) -> float | None:
    """A number or None. Raises as `number_of`."""
    return None if value is None else number_of(value)


def text_of(value: object) -> str:
    """A text. Raises `ValueError` for anything else."""
    if not isinstance(value, str):
        raise ValueError(f"{value!r}, expected a text")
    return value


def date_of(value: object) -> str:
    """A date and time with its offset from UTC, in ISO 8601. Raises `ValueError` for anything else."""
    text = text_of(value)
    if datetime.fromisoformat(text).tzinfo is None:
        raise ValueError(f"{text!r}, expected a date with its offset from UTC")
    return text


def rows_of(value: object, of: Callable[[object], _T]) -> tuple[_T, ...]:
    """Each row of a list, read by `of`. Raises `ValueError` for anything but a list, and as `of`."""
    if not isinstance(value, list | tuple):
        raise ValueError(f"{value!r}, expected a list")
    return tuple(of(row) for row in value)


def table_of(value: object, of: Callable[[object], _T]) -> dict[str, _T]:
    """The values of a table by their names, read by `of`. Raises `ValueError` for anything else, and as `of`."""
    if not isinstance(value, Mapping):
        raise ValueError(f"{value!r}, expected a table")
    return {text_of(name): of(part) for name, part in value.items()}
