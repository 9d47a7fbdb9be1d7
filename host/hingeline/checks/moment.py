"""Where a side is at this moment, beside where it belongs: what is shown before a reading is taken; it is not kept."""

from __future__ import annotations

from dataclasses import dataclass

from hingeline.advice.verdict import Verdict
from hingeline.checks.judgement import Comparison
from hingeline.measure.capture import Readings
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
