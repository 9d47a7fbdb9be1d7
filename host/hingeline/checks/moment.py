"""Where a side is at this moment, beside where it belongs: what is shown before a reading is taken; it is not kept."""

from __future__ import annotations

from dataclasses import dataclass

from hingeline.advice.verdict import Verdict
from hingeline.checks.judgement import Comparison, Judge, compare
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget, Target
from hingeline.units import Side
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.hinge import Deflection


@dataclass(frozen=True)
class Passing:
    """A passing angle, trailing edge up positive; chord and convention turn it into travel, where there is a chord."""

    side: Side
    now: Deflection
    chord_mm: float | None
    convention: str


@dataclass(frozen=True)
class Moment(Passing):
    """A verdict on a passing angle, in the unit of the rigging sheet; of a match, of this side against the other.

    It belongs at `wanted_deg`; `wrong` is why the angle is not valid, where that is known.
    """

    verdict: Verdict
    wanted_deg: float = 0.0
    wrong: Doubt | None = None

    @property
    def doubt(self) -> str:
        """Why there is no verdict; empty where there is one."""
        if self.wrong:
            return f"{self.side}: NO VERDICT, {self.wrong.text}"
        travel = None if self.chord_mm is None else self.now.travel(self.chord_mm, self.convention)
        if Comparison(self.now, self.verdict, travel).is_known:
            return ""
        reach_deg = COVERAGE_FACTOR * self.now.standard_uncertainty_deg
        return f"{self.side}: NO VERDICT, known to ±{reach_deg:.2f}° only"


def beside(target: Target | NeutralTarget, now: Deflection, judge: Judge, wrong: Doubt | None = None) -> Moment:
    """Compare a side, at this moment, with its target."""
    verdict = compare(target, now, judge).verdict
    return Moment(target.side, now, target.chord_mm, target.convention, verdict, target.deflection_deg or 0.0, wrong)


def passing(sheet: Sheet, surface: str, neutral: NeutralReading, readings: Readings) -> tuple[Passing, ...]:
    """How far each side is from neutral. Raises `HingeVertical`."""
    given = sheet.surface(surface)
    return tuple(
        Passing(side, angle, given.chord_mm, given.convention or sheet.convention)
        for side, angle in neutral.deflections(readings).items()
    )
