"""One measured angle beside what the rigging sheet wants."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hingeline.advice.verdict import Verdict
from hingeline_calibration.hinge import Deflection, Travel


@dataclass(frozen=True)
class Advice:
    """What to turn, in words, and how far following it moves the trailing edge (up positive)."""

    text: str = ""
    moves_deg: float = 0.0


@dataclass(frozen=True)
class Judgement:
    """A verdict with its reasons.

    Attributes
    ----------
    what
        "left", "right", "middle", or "left - right".
    measured, travel
        The angle, trailing edge up positive, and what it is at the chord, where there is one.
    wanted, tolerance
        In `verdict.unit`.
    advice
        What to turn; without text inside the tolerance, or where nothing is known.
    """

    what: str
    measured: Deflection
    travel: Travel | None
    wanted: float
    tolerance: float
    verdict: Verdict
    advice: Advice

    @property
    def inside(self) -> bool:
        """Whether the verdict is HOLD."""
        return self.verdict.inside

    @property
    def close(self) -> bool:
        """Whether the verdict could be the other one: the limit is inside the 95 % interval."""
        low, high = self.travel.interval_mm if self._in_mm and self.travel else self.measured.interval_deg
        return abs(abs(self.verdict.gap) - self.tolerance) < (high - low) / 2

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        travel = None
        if self.travel is not None:
            travel = {
                "mm": round(self.travel.travel_mm, 3),
                "convention": self.travel.convention,
                "standard_uncertainty_mm": round(self.travel.standard_uncertainty_mm, 3),
                "interval_95_mm": [round(value, 3) for value in self.travel.interval_mm],
            }
        return {
            "what": self.what,
            "measured": angle_dict(self.measured),
            "travel": travel,
            "unit": self.verdict.unit,
            "wanted": round(self.wanted, 3),
            "tolerance": round(self.tolerance, 3),
            "gap": round(self.verdict.gap, 3),
            "verdict": self.verdict.word,
            "inside": self.inside,
            "close": self.close,
            "advice": self.advice.text,
        }

    @property
    def _in_mm(self) -> bool:
        return self.verdict.unit == "mm"


def angle_dict(angle: Deflection) -> dict[str, Any]:
    """Return an angle with its uncertainty and budget as plain values for JSON."""
    low, high = angle.interval_deg
    return {
        "deg": round(angle.deflection_deg, 4),
        "standard_uncertainty_deg": round(angle.standard_uncertainty_deg, 4),
        "interval_95_deg": [round(low, 4), round(high, 4)],
        "budget_deg": {source: round(value, 4) for source, value in angle.budget.items()},
    }
