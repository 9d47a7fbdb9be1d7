"""Truth beside measurement, a row each."""

from __future__ import annotations

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
        return (
            f"    {self.name:<31} true {signed(self.truth):>6} measured {signed(self.measured):>6} "
            f"±{self.reach:.2f} {self.unit:<2} {'agrees' if self.agrees else 'DISAGREES'}"
        )

    def to_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        numbers = {key: round(getattr(self, key), 4) for key in ("truth", "measured", "reach")}
        return {"name": self.name, "unit": self.unit, **numbers, "agrees": self.agrees}
