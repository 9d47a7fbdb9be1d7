"""One angle beside what the rigging sheet wants: judged where it was measured, and at each moment before, not kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

from hingeline.advice import Advice
from hingeline.advice.verdict import MOVED, NO_VERDICT, Verdict, judge_neutral, judge_throw
from hingeline.checks import values
from hingeline.checks.values import Angle, Judgement
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import small_travel_mm, travel_of
from hingeline.measure.uncertainty import limits_text, telling
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget, Target
from hingeline.units import UNITS, Side
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.hinge import Deflection, Travel

NOTHING = Advice()


class Comparison(NamedTuple):
    """An angle, its travel where there is a chord, and the verdict on either.

    `wrong` is why the angle is not the surface's, where that is known.
    """

    measured: Deflection
    verdict: Verdict
    travel: Travel | None = None
    wrong: Doubt | None = None

    @property
    def budget(self) -> Budget:
        """Of what the verdict is on."""
        return self.travel.budget if self.verdict.unit == "mm" and self.travel else self.measured.budget

    @property
    def is_known(self) -> bool:
        """Whether there can be a verdict: the 95 % uncertainty is within the tolerance, or the gap surely beyond it.

        The chord's part is left out: target and reading share it.
        """
        if self.wrong:
            return False
        reach = COVERAGE_FACTOR * self.budget.without("chord").standard_uncertainty
        return reach <= self.verdict.tolerance or abs(self.verdict.gap) - reach > self.verdict.tolerance


def compare(target: Target | NeutralTarget, angle: Deflection, wrong: Doubt | None = None) -> Comparison:
    """Compare an angle with its target in the unit that the manual gives this in, inches as mm."""
    travel = None
    if target.chord_mm is not None:
        travel = travel_of(angle, target.chord_mm, target.convention, target.chord_accuracy_mm)
    judge = judge_throw if isinstance(target, Target) else judge_neutral
    wanted_deg = target.deflection_deg or 0.0
    if travel is None or target.chord_mm is None or target.travel_mm is None or target.unit == "deg":
        return Comparison(angle, judge(angle.deflection_deg, wanted_deg, target.tolerance_deg, "deg"), travel, wrong)
    tolerance_mm = target.tolerance_mm
    if tolerance_mm is None:
        tolerance_mm = small_travel_mm(target.tolerance_deg, wanted_deg, target.chord_mm, travel.convention)
    return Comparison(angle, judge(travel.travel_mm, target.travel_mm, tolerance_mm, "mm"), travel, wrong)


def worded(advice: Advice, kind: str) -> Advice:
    """Word an advice for a kind of surface: a rudder's trailing edge goes left and right."""
    if kind != "rudder":
        return advice
    text = advice.text.replace("trailing edge up", "trailing edge left")
    return replace(advice, text=text.replace("trailing edge down", "trailing edge right"))


def judge(
    name: str,
    comparison: Comparison,
    *,
    advice: Advice = NOTHING,
    off: Side = MOVED,
    effect: str = "",
    streamwise_deg: float | None = None,
) -> Judgement:
    """Judge an angle, by a name as in `Judgement`: all that follows from its numbers is computed here, once."""
    measured, verdict, travel, doubt = comparison
    reach = COVERAGE_FACTOR * comparison.budget.standard_uncertainty
    limits = limits_text(comparison.budget, verdict.unit) if telling(comparison.budget, verdict.tolerance) else ""
    known = comparison.is_known
    if not known and not doubt:
        reason, _, cure = limits.partition("; ")
        doubt = Doubt(f"known to ±{reach:.2f}{UNITS[verdict.unit]} only, {reason}", cure)
        advice = NOTHING  # what to turn is not known either
    return Judgement(
        name=name,
        measured=Angle.of(measured),
        unit=verdict.unit,
        target=verdict.target,
        tolerance=verdict.tolerance,
        gap=verdict.gap,
        verdict=verdict.word if known else NO_VERDICT,
        inside=known and verdict.inside,
        off=off,
        close=known and abs(abs(verdict.gap) - verdict.tolerance) < reach,
        travel=None if travel is None else values.Travel.of(travel),
        reason=doubt.reason if doubt else "",
        cure=doubt.cure if doubt else "",
        wrong=comparison.wrong is not None,
        limited_by=limits if known else "",
        advice=advice.text,
        moves_deg=advice.moves_deg,
        setting_percent=advice.setting_percent,
        effect=effect,
        streamwise_deg=streamwise_deg,
    )


@dataclass(frozen=True)
class Passing:
    """A passing angle, trailing edge up positive; chord and convention turn it into travel, where there is a chord."""

    side: Side
    now: Deflection
    chord_mm: float | None
    convention: str


@dataclass(frozen=True)
class Moment(Passing):
    """A passing angle beside what is wanted of it; of a match, of this side against the other."""

    comparison: Comparison
    wanted_deg: float = 0.0

    @classmethod
    def of(cls, target: Target | NeutralTarget, comparison: Comparison, wanted_deg: float = 0.0) -> Moment:
        """The moment of a side that belongs at `wanted_deg`."""
        return cls(target.side, comparison.measured, target.chord_mm, target.convention, comparison, wanted_deg)

    @property
    def verdict(self) -> Verdict:
        """In the unit of the rigging sheet."""
        return self.comparison.verdict

    @property
    def doubt(self) -> str:
        """Why there is no verdict; empty where there is one."""
        if self.comparison.is_known:
            return ""
        reach_deg = COVERAGE_FACTOR * self.now.standard_uncertainty_deg
        wrong = self.comparison.wrong
        return f"{self.side}: NO VERDICT, {wrong.text if wrong else f'known to ±{reach_deg:.2f}° only'}"


def passing(sheet: Sheet, surface: str, neutral: NeutralReading, readings: Readings) -> tuple[Passing, ...]:
    """How far each side is from neutral. Raises `HingeVertical`."""
    given = sheet.surface(surface)
    return tuple(
        Passing(side, angle, given.chord_mm, given.convention or sheet.convention)
        for side, angle in neutral.deflections(readings).items()
    )
