"""Truth beside measurement, a row each."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from hingeline.units import signed


@dataclass(frozen=True)
class Row:
    """A true value, what was measured, and how far its stated interval reaches to either side."""

    name: str
    unit: str
    truth: float
    measured: float
    reach: float

    @property
    def agrees(self) -> bool:
        """Whether the interval holds the truth."""
        return abs(self.measured - self.truth) <= self.reach

    def text(self) -> str:
        """Write the row as a line."""
        word = "agrees" if self.agrees else "DISAGREES"
        return (
            f"    {self.name:<31} true {signed(self.truth):>6} measured {signed(self.measured):>6} "
            f"±{self.reach:.2f} {self.unit:<2} {word}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        numbers = {"truth": self.truth, "measured": self.measured, "reach": self.reach}
        return {
            "name": self.name,
            "unit": self.unit,
            **{key: round(value, 4) for key, value in numbers.items()},
            "agrees": self.agrees,
        }


class Ledger:
    """All rows so far; each is printed when it is entered."""

    def __init__(self, say: Callable[[str], None]) -> None:
        self.rows: list[Row] = []
        self._say = say

    def enter(self, row: Row) -> None:
        """Add a row."""
        self.rows.append(row)
        self._say(row.text())

    @property
    def agrees(self) -> bool:
        """Whether every row does."""
        return all(row.agrees for row in self.rows)
