"""One measured angle beside what the rigging sheet wants."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from hingeline.advice.verdict import NO_VERDICT, Verdict
from hingeline.measure.pipeline import travel_of
from hingeline.measure.uncertainty import limits_text, telling
from hingeline.rig.targets import NeutralTarget, Target
from hingeline.units import UNITS, signed
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.hinge import Deflection, Travel
from hingeline_calibration.travel import travel_slope_mm_per_deg

Judge = Callable[[float, float, float, str], Verdict]
"""Measured, target, tolerance and their unit to a verdict."""


@dataclass(frozen=True)
class Advice:
    """What to turn.

    Attributes
    ----------
    text
        In words; empty where there is nothing to do or to say.
    moves_deg
        How far following it moves the trailing edge, up positive; 0 where that is to be found out.
    setting_percent
        What the transmitter is to be set to, where that is the advice.
    """

    text: str = ""
    moves_deg: float = 0.0
    setting_percent: float | None = None


def is_known(verdict: Verdict, tolerance: float, budget: Budget) -> bool:
    """Whether a verdict can be told: the 95 % uncertainty is within the tolerance, or the gap surely beyond it.

    The chord's part is left out: target and reading share it.
    """
    reach = COVERAGE_FACTOR * budget.without("chord").standard_uncertainty
    return reach <= tolerance or abs(verdict.gap) - reach > tolerance


def worded(advice: Advice, kind: str) -> Advice:
    """Return an advice as it is said of a kind of surface: a rudder's trailing edge goes left and right."""
    if kind != "rudder":
        return advice
    text = advice.text.replace("trailing edge up", "trailing edge left")
    return replace(advice, text=text.replace("trailing edge down", "trailing edge right"))


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
    effect
        What a mismatch does in flight, with the assumptions; empty where the sheet doesn't tell enough.
    streamwise_deg
        Of a swept hinge, the angle in a section along the stream.
    sound
        Whether the angle is the surface's; where it is not, `advice` says why, and there is no verdict on it.
    """

    what: str
    measured: Deflection
    travel: Travel | None
    wanted: float
    tolerance: float
    verdict: Verdict
    advice: Advice
    effect: str = ""
    streamwise_deg: float | None = None
    sound: bool = True

    @property
    def known(self) -> bool:
        """Whether there is a verdict."""
        return self.sound and is_known(self.verdict, self.tolerance, self._budget)

    @property
    def doubt(self) -> str:
        """What the uncertainty comes from, where it takes much of the tolerance; else empty."""
        telling_much = telling(self._budget, self.tolerance)
        return limits_text(self._budget, self.verdict.unit) if telling_much else ""

    @property
    def what_to_do(self) -> str:
        """The advice, or what makes the uncertainty less where there is no verdict for it."""
        return self.advice.text or ("" if self.known else self.doubt)

    @property
    def inside(self) -> bool:
        """Whether the verdict is HOLD."""
        return self.known and self.verdict.inside

    @property
    def word(self) -> str:
        """The verdict's, or that there is none."""
        return self.verdict.word if self.known else NO_VERDICT

    @property
    def verdict_text(self) -> str:
        """The word and the gap, or that there is no verdict."""
        if self.known:
            return f"{self.word} {signed(self.verdict.gap)}{UNITS[self.verdict.unit]}"
        return f"{self.word}, known too badly for one" if self.sound else self.word

    @property
    def close(self) -> bool:
        """Whether the verdict could be the other one: the limit is inside the 95 % interval."""
        reach = COVERAGE_FACTOR * self._budget.standard_uncertainty
        return self.known and abs(abs(self.verdict.gap) - self.tolerance) < reach

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
            "gap": round(self.verdict.gap, 6),
            "verdict": self.word,
            "inside": self.inside,
            "close": self.close,
            "advice": self.what_to_do,
            "effect": self.effect,
            "streamwise_deg": None if self.streamwise_deg is None else round(self.streamwise_deg, 3),
        }

    @property
    def _budget(self) -> Budget:
        """In the verdict's unit."""
        if self.verdict.unit == "mm" and self.travel is not None:
            return self.travel.budget
        return self.measured.budget


def wanted(
    target: Target | NeutralTarget, angle: Deflection, judge: Judge
) -> tuple[Travel | None, float, float, Verdict]:
    """Return travel, wanted, tolerance and verdict in the unit that the manual gives its target in, inches as mm."""
    travel = None if target.chord_mm is None else travel_of(angle, target.chord_mm, target.convention)
    if travel is None or target.travel_mm is None or target.unit == "deg":
        wanted_deg = target.deflection_deg or 0.0
        verdict = judge(angle.deflection_deg, wanted_deg, target.tolerance_deg, "deg")
        return travel, wanted_deg, target.tolerance_deg, verdict
    tolerance_mm = target.tolerance_mm
    if tolerance_mm is None:
        slope = travel_slope_mm_per_deg(
            target.deflection_deg or 0.0, target.chord_mm or 0.0, travel.convention
        )
        tolerance_mm = target.tolerance_deg * slope
    return (
        travel,
        target.travel_mm,
        tolerance_mm,
        judge(travel.travel_mm, target.travel_mm, tolerance_mm, "mm"),
    )


def angle_dict(angle: Deflection) -> dict[str, Any]:
    """Return an angle with its uncertainty and budget as plain values for JSON."""
    low, high = angle.interval_deg
    return {
        "deg": round(angle.deflection_deg, 4),
        "standard_uncertainty_deg": round(angle.standard_uncertainty_deg, 4),
        "interval_95_deg": [round(low, 4), round(high, 4)],
        "budget_deg": {source: round(value, 4) for source, value in angle.budget.items()},
    }
