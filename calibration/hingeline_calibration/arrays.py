"""The array type of this package."""

from typing import Any, TypeAlias

from numpy.typing import NDArray

Array: TypeAlias = NDArray[Any]
"""An array of doubles; shapes are in the docstrings."""
