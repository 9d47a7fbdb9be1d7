"""Where the uncertainty of an angle comes from."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

COVERAGE_FACTOR = 1.96
"""Standard uncertainties on either side of a value for 95 %, Gaussian (GUM G.1.3)."""


_EXACT = {1: 12.706, 2: 4.303, 3: 3.182, 4: 2.776}
"""Student's t for 95 % (GUM, table G.2) of degrees of freedom for which the expansion is too short."""


@dataclass(frozen=True)
class Row:
    """One source of uncertainty, its standard uncertainty in the unit of its budget, and its degrees of freedom.

    What comes of repeated readings has as many as there are readings less one (type A, GUM 4.2); all else none too few.
    """

    source: str
    standard_uncertainty: float
    freedom: float = math.inf


@dataclass(frozen=True)
class Budget:
    """Independent sources, greatest first; iterates over its rows."""

    rows: tuple[Row, ...]

    @classmethod
    def of(cls, sources: Iterable[Row | tuple[str, float]]) -> Budget:
        """A budget of rows, or (source, standard uncertainty) pairs; those of one source add as squares, zeros go."""
        parts: dict[str, list[Row]] = {}
        for each in sources:
            row = each if isinstance(each, Row) else Row(*each)
            if row.standard_uncertainty:
                parts.setdefault(row.source, []).append(row)
        rows = [Row(source, _together(alike), _freedom(alike)) for source, alike in parts.items()]
        return cls(tuple(sorted(rows, key=lambda row: -row.standard_uncertainty)))

    def __iter__(self) -> Iterator[Row]:
        return iter(self.rows)

    @property
    def standard_uncertainty(self) -> float:
        """All rows together."""
        return _together(self.rows)

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom, infinite where none is of repeated readings (Welch-Satterthwaite, GUM G.4)."""
        return _freedom(self.rows)

    @property
    def coverage_factor(self) -> float:
        """Standard uncertainties on either side of a value for 95 %: Student's t of the freedom (GUM G.3)."""
        return coverage_factor(self.freedom)

    def interval(self, value: float) -> tuple[float, float]:
        """Holds the true value with 95 %."""
        reach = self.coverage_factor * self.standard_uncertainty
        return value - reach, value + reach

    def items(self) -> tuple[tuple[str, float], ...]:
        """(source, standard uncertainty) pairs."""
        return tuple((row.source, row.standard_uncertainty) for row in self.rows)

    def scaled(self, factor: float) -> Budget:
        """All rows times a factor, as a change of unit needs it."""
        return Budget(tuple(Row(row.source, row.standard_uncertainty * abs(factor), row.freedom) for row in self.rows))

    def without(self, source: str) -> Budget:
        """The budget without one source."""
        return Budget(tuple(row for row in self.rows if row.source != source))


def coverage_factor(freedom: float) -> float:
    """Standard uncertainties on either side of a value for 95 %, of so many degrees of freedom, at least 1.

    GUM G.4.2: the next lower integer of them. Student's t by its expansion in 1/freedom (Abramowitz & Stegun 26.7.5;
    memory).
    """
    if freedom > 1e6:
        return COVERAGE_FACTOR
    whole = max(1, math.floor(freedom))
    if whole in _EXACT:
        return _EXACT[whole]
    z = COVERAGE_FACTOR
    first, second = (z**3 + z) / 4, (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / whole + second / whole**2 + third / whole**3


def _together(rows: Iterable[Row]) -> float:
    return math.sqrt(sum(row.standard_uncertainty**2 for row in rows))


def _freedom(rows: Iterable[Row]) -> float:
    """Welch-Satterthwaite: u⁴ / Σ u_i⁴/ν_i."""
    parts = tuple(rows)
    spent = sum(row.standard_uncertainty**4 / row.freedom for row in parts)
    return _together(parts) ** 4 / spent if spent > 0 else math.inf


def repeatability(groups: Iterable[Sequence[float]], noise: float) -> Row:
    """How well a thing repeats, as a standard deviation, from groups of readings of it, each taken alike.

    What the readings' own `noise`, one standard deviation, makes of it is taken away: a thing that repeats perfectly
    comes to nothing, however noisy it is read. The groups are pooled, each about its own mean (GUM H.5); there are as
    many degrees of freedom as readings less groups. A group of one says nothing.
    """
    several = [group for group in groups if len(group) > 1]
    freedom = sum(len(group) - 1 for group in several)
    squares = sum(sum((value - sum(group) / len(group)) ** 2 for value in group) for group in several)
    variance = squares / freedom if freedom else 0.0
    return Row("repeatability", math.sqrt(max(0.0, variance - noise**2)), float(freedom))


def deviation_of_repeatability(repeats: Row, noise: float) -> float:
    """Standard uncertainty of a `repeatability`: the variance seen has that of chi-squared (GUM E.4.3)."""
    if not repeats.freedom:
        return math.inf
    variance = repeats.standard_uncertainty**2
    upper = variance + (variance + noise**2) * math.sqrt(2 / repeats.freedom)
    return math.sqrt(upper) - repeats.standard_uncertainty
