"""Reading what was stored: versions first, then every key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from hingeline_calibration.errors import BadRecord, NewerRecord

_T = TypeVar("_T")


def read_record(
    record: Mapping[str, object], kind: str, newest: int, build: Callable[[dict[str, object]], _T]
) -> _T:
    """Check kind and format of a stored record and build its object.

    Raises
    ------
    NewerRecord
        Its format is later than `newest`.
    BadRecord
        Another kind, a missing key or a value of another type or shape.
    """
    fields = dict(record)
    found, version = fields.pop("kind", None), fields.pop("format", None)
    if found != kind or not isinstance(version, int):
        raise BadRecord(
            f"a record of kind {found!r}, format {version!r}, expected a {kind}", "Name the right file"
        )
    if version > newest:
        raise NewerRecord(
            f"a {kind} of format {version}, expected at most {newest}",
            "Update hingeline: pip install --upgrade hingeline",
        )
    try:
        return build(fields)
    except (KeyError, TypeError, ValueError) as error:
        raise BadRecord(
            f"a {kind} that can't be read: {error!r}", "Restore it from the history, or measure again"
        ) from error


def array_of(value: object, *shape: int) -> NDArray[np.float64]:
    """An array of a shape, all finite.

    Raises
    ------
    ValueError
        Another shape, or not all finite numbers.
    """
    array = np.array(value, float)
    if array.shape != shape or not np.isfinite(array).all():
        raise ValueError(f"shape {array.shape} or values, expected finite {shape}")
    return array
