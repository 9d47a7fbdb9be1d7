"""Where the uncertainty of an angle comes from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

COVERAGE_FACTOR = 1.96
"""Standard uncertainties on either side of a value for 95 %, Gaussian (GUM G.1.3)."""


@dataclass(frozen=True)
class Row:
    """One source of uncertainty and its standard uncertainty, in the unit of its budget."""

    source: str
    standard_uncertainty: float


@dataclass(frozen=True)
class Budget:
    """Independent sources, greatest first; iterates over its rows."""

    rows: tuple[Row, ...]

    @classmethod
    def of(cls, sources: Iterable[tuple[str, float]]) -> Budget:
        """A budget of (source, standard uncertainty) pairs; those of one source add as squares, zeros go."""
        squares: dict[str, float] = {}
        for source, value in sources:
            squares[source] = squares.get(source, 0.0) + value**2
        rows = [Row(source, math.sqrt(square)) for source, square in squares.items() if square > 0]
        return cls(tuple(sorted(rows, key=lambda row: -row.standard_uncertainty)))

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    @property
    def standard_uncertainty(self) -> float:
        """All rows together."""
        return math.sqrt(sum(row.standard_uncertainty**2 for row in self.rows))

    def interval(self, value: float) -> tuple[float, float]:
        """Holds the true value with 95 %."""
        reach = COVERAGE_FACTOR * self.standard_uncertainty
        return value - reach, value + reach

    def items(self) -> tuple[tuple[str, float], ...]:
        """(source, standard uncertainty) pairs."""
        return tuple((row.source, row.standard_uncertainty) for row in self.rows)

    def scaled(self, factor: float) -> Budget:
        """All rows times a factor, as a change of unit needs it."""
        return Budget(tuple(Row(row.source, row.standard_uncertainty * abs(factor)) for row in self.rows))

    def without(self, source: str) -> Budget:
        """The budget without one source."""
        return Budget(tuple(row for row in self.rows if row.source != source))
