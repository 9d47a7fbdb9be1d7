"""Where a side is at this moment, beside where it belongs: what is shown before a reading is taken; it is not kept."""

from __future__ import annotations

from dataclasses import dataclass

from hingeline.advice.verdict import Verdict
from hingeline.checks.judgement import Judge, is_known, wanted
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget, Target
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.hinge import Deflection


@dataclass(frozen=True)
class Moment:
    """A verdict on a passing angle.

    Attributes
    ----------
    side
        "left", "right" or "middle".
    verdict
        On it, in the unit of the rigging sheet.
    tolerance
        In `verdict.unit`.
    now
        The angle, trailing edge up positive; of a match, of this side against the other.
    wanted_deg
        Where it belongs.
    chord_mm, convention
        What turns angles into travel; without a chord, None, there is none.
    wrong
        Why the angle is not valid, where that is known.
    """

    side: str
    verdict: Verdict
    tolerance: float
    now: Deflection
    wanted_deg: float
    chord_mm: float | None
    convention: str
    wrong: Doubt | None = None

    @property
    def doubt(self) -> str:
        """Why there is no verdict; empty where there is one."""
        if self.wrong:
            return f"{self.side}: NO VERDICT, {self.wrong.text}"
        in_mm = self.verdict.unit == "mm" and self.chord_mm is not None
        budget = self.now.travel(self.chord_mm or 0.0, self.convention).budget if in_mm else self.now.budget
        if is_known(self.verdict, self.tolerance, budget):
            return ""
        reach_deg = COVERAGE_FACTOR * self.now.standard_uncertainty_deg
        return f"{self.side}: NO VERDICT, known to ±{reach_deg:.2f}° only"


def beside(target: Target | NeutralTarget, now: Deflection, judge: Judge, wrong: Doubt | None = None) -> Moment:
    """Compare a side, at this moment, with its target."""
    _, _, tolerance, verdict = wanted(target, now, judge)
    wanted_deg = target.deflection_deg or 0.0
    return Moment(target.side, verdict, tolerance, now, wanted_deg, target.chord_mm, target.convention, wrong)


@dataclass(frozen=True)
class Passing:
    """A passing angle of which nothing is wanted; otherwise as a `Moment`."""

    side: str
    now: Deflection
    chord_mm: float | None
    convention: str


def passing(sheet: Sheet, surface: str, neutral: NeutralReading, readings: Readings) -> tuple[Passing, ...]:
    """How far each side is from neutral. Raises `HingeVertical`."""
    given = sheet.surface(surface)
    return tuple(
        Passing(side, angle, given.chord_mm, given.convention or sheet.convention)
        for side, angle in neutral.deflections(readings).items()
    )
