"""Angles that pass, made up, and what is wanted of them."""

from hingeline.advice.verdict import judge_throw
from hingeline.checks.judgement import Comparison, Moment, Passing
from hingeline_calibration.budget import Budget
from hingeline_calibration.hinge import Deflection


def deflection(deg, sd_deg=0.01):
    """An angle that is known so well."""
    return Deflection(deg, Budget.of([("noise", sd_deg)]))


def moment(now_deg, *, side="left", wanted_deg=-30.0, chord_mm=None, unit="deg", sd_deg=0.01, wrong=None):
    """A side that is wanted somewhere, to 0.5 of the unit."""
    verdict = judge_throw(now_deg, wanted_deg, 0.5, unit)
    now = deflection(now_deg, sd_deg)
    travel = None if chord_mm is None else now.travel(chord_mm, "ruler")
    return Moment(side, now, chord_mm, "ruler", Comparison(now, verdict, travel, wrong), wanted_deg)


def passing(now_deg, *, side="left", chord_mm=50.0):
    """A side of which nothing is wanted."""
    return Passing(side, deflection(now_deg), chord_mm, "ruler")
