"""The array type of this package, and its cross product."""

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[Any]
"""An array of doubles; shapes are in the docstrings."""


def cross(a: Array, b: Array) -> Array:
    """a × b, each (3,) or (N, 3): with few vectors `np.cross` takes ten times as long to find which axis is meant."""
    (ax, ay, az), (bx, by, bz) = a.T, b.T
    product: Array = np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]).T
    return product
