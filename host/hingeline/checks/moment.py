"""Where a side is at this moment beside where it belongs: what is shown while a rest is waited for, and not kept."""

from __future__ import annotations

from dataclasses import dataclass

from hingeline.advice.verdict import Verdict
from hingeline.checks.judgement import Judge, wanted
from hingeline.rig.targets import NeutralTarget, Target
from hingeline_calibration.hinge import Deflection


@dataclass(frozen=True)
class Moment:
    """A verdict on a passing angle.

    Attributes
    ----------
    what
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
    """

    what: str
    verdict: Verdict
    tolerance: float
    now: Deflection
    wanted_deg: float
    chord_mm: float | None
    convention: str


def beside(target: Target | NeutralTarget, now: Deflection, judge: Judge) -> Moment:
    """Return the moment of a side that has a target."""
    _, _, tolerance, verdict = wanted(target, now, judge)
    wanted_deg = target.deflection_deg or 0.0
    return Moment(target.side, verdict, tolerance, now, wanted_deg, target.chord_mm, target.convention)
