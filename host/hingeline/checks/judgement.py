"""One measured angle beside what the rigging sheet wants."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from hingeline.advice.verdict import NO_VERDICT, Verdict
from hingeline.checks import values
from hingeline.checks.values import Angle, Judgement
from hingeline.measure.cautions import Doubt
from hingeline.measure.pipeline import small_travel_mm, travel_of
from hingeline.measure.uncertainty import limits_text, telling
from hingeline.rig.targets import NeutralTarget, Target
from hingeline.units import UNITS
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.hinge import Deflection, Travel

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


NOTHING = Advice()


def is_known(verdict: Verdict, tolerance: float, budget: Budget) -> bool:
    """Whether a verdict can be told: the 95 % uncertainty is within the tolerance, or the gap surely beyond it.

    The chord's part is left out: target and reading share it.
    """
    reach = COVERAGE_FACTOR * budget.without("chord").standard_uncertainty
    return reach <= tolerance or abs(verdict.gap) - reach > tolerance


def worded(advice: Advice, kind: str) -> Advice:
    """Word an advice for a kind of surface: a rudder's trailing edge goes left and right."""
    if kind != "rudder":
        return advice
    text = advice.text.replace("trailing edge up", "trailing edge left")
    return replace(advice, text=text.replace("trailing edge down", "trailing edge right"))


def judge(
    name: str,
    measured: Deflection,
    verdict: Verdict,
    target: float,
    tolerance: float,
    *,
    advice: Advice = NOTHING,
    travel: Travel | None = None,
    wrong: Doubt | None = None,
    effect: str = "",
    streamwise_deg: float | None = None,
) -> Judgement:
    """Judge an angle: all that follows from its numbers is computed here, once.

    Parameters
    ----------
    name
        Of it, see `Judgement`.
    target, tolerance
        In `verdict.unit`.
    wrong
        Why the angle is not the surface's, where that is known.
    """
    budget = travel.budget if verdict.unit == "mm" and travel is not None else measured.budget
    reach = COVERAGE_FACTOR * budget.standard_uncertainty
    unit: Literal["deg", "mm"] = "mm" if verdict.unit == "mm" else "deg"
    limits = limits_text(budget, unit) if telling(budget, tolerance) else ""
    is_wrong = wrong is not None
    known = not is_wrong and is_known(verdict, tolerance, budget)
    if not known and wrong is None:
        reason, _, cure = limits.partition("; ")
        wrong = Doubt(f"known to ±{reach:.2f}{UNITS[unit]} only, {reason}", cure)
        advice = NOTHING  # what to turn is not known either
    return Judgement(
        name=name,
        measured=Angle.of(measured),
        unit=unit,
        target=target,
        tolerance=tolerance,
        gap=verdict.gap,
        verdict=verdict.word if known else NO_VERDICT,
        inside=known and verdict.inside,
        close=known and abs(abs(verdict.gap) - tolerance) < reach,
        travel=None if travel is None else values.Travel.of(travel),
        reason="" if wrong is None else wrong.reason,
        cure="" if wrong is None else wrong.cure,
        wrong=is_wrong,
        limited_by=limits if known else "",
        advice=advice.text,
        moves_deg=advice.moves_deg,
        setting_percent=advice.setting_percent,
        effect=effect,
        streamwise_deg=streamwise_deg,
    )


def wanted(
    target: Target | NeutralTarget, angle: Deflection, judge: Judge
) -> tuple[Travel | None, float, float, Verdict]:
    """Travel, wanted, tolerance and verdict in the unit that the manual gives its target in, inches as mm."""
    travel = None if target.chord_mm is None else travel_of(angle, target.chord_mm, target.convention)
    if travel is None or target.travel_mm is None or target.unit == "deg":
        wanted_deg = target.deflection_deg or 0.0
        verdict = judge(angle.deflection_deg, wanted_deg, target.tolerance_deg, "deg")
        return travel, wanted_deg, target.tolerance_deg, verdict
    tolerance_mm = target.tolerance_mm
    if tolerance_mm is None:
        tolerance_mm = small_travel_mm(
            target.tolerance_deg, target.deflection_deg or 0.0, target.chord_mm or 0.0, travel.convention
        )
    return (
        travel,
        target.travel_mm,
        tolerance_mm,
        judge(travel.travel_mm, target.travel_mm, tolerance_mm, "mm"),
    )
