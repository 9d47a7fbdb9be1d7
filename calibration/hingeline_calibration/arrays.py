"""The array type of this package, and what numpy lacks: fast cross products, dot products by row, angles, means."""

import math
from collections.abc import Iterable
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[Any]
"""An array of doubles; shapes are in the docstrings."""


def cross(a: Array, b: Array) -> Array:
    """a × b, each (3,) or (N, 3): with few vectors `np.cross` takes ten times as long to find which axis is meant."""
    (ax, ay, az), (bx, by, bz) = a.T, b.T
    product: Array = np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]).T
    return product


def dot(a: Array, b: Array) -> Array:
    """a·b, each (3,) or (N, 3): one number, or one for each pair of rows."""
    return np.asarray(np.einsum("...i,...i", a, b))


def mean_of_known(values: Iterable[float | None]) -> float | None:
    """Mean of the values that are known; None where none is."""
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None


def angle_between_deg(a: ArrayLike, b: ArrayLike) -> float:
    """Angle of two vectors (3,) of any length, 0 to 180°; exact near both ends, where an arc cosine is not."""
    first, second = np.asarray(a, float), np.asarray(b, float)
    return math.degrees(math.atan2(math.hypot(*cross(first, second).tolist()), float(first @ second)))
