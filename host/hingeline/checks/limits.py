"""One fault that was looked for: how large it is, beside how large it may be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from functools import reduce
from typing import Any

import numpy as np

from hingeline.checks.results import CheckResult, LimitResult
from hingeline.checks.values import Unit
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Sheet
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.hinge import Deflection, Travel
from hingeline_calibration.travel import angle_of_length_deg

_ROUNDING = 9


def beside_limit(
    name: str,
    value: float,
    standard_uncertainty: float,
    limit: float,
    candidates: Sequence[str],
    *,
    unit: Unit = "deg",
    expected: float = 0.0,
) -> LimitResult:
    """Judge a value by how far it may be from what is expected; all numbers in `unit`."""
    reach = COVERAGE_FACTOR * standard_uncertainty
    excess = abs(value - expected) - limit
    inside = round(excess, _ROUNDING) <= 0
    return LimitResult(
        name,
        value,
        unit,
        standard_uncertainty,
        (value - reach, value + reach),
        limit,
        inside,
        expected,
        abs(excess) < reach,
        () if inside else tuple(candidates),
    )


def of_angle(name: str, angle: Deflection, limit_deg: float, candidates: Sequence[str]) -> LimitResult:
    """Judge an angle."""
    return beside_limit(name, angle.deflection_deg, angle.standard_uncertainty_deg, limit_deg, candidates)


def of_travel(name: str, travel: Travel, limit_mm: float, candidates: Sequence[str]) -> LimitResult:
    """Judge a travel at the chord."""
    return beside_limit(name, travel.travel_mm, travel.standard_uncertainty_mm, limit_mm, candidates, unit="mm")


def repeating(angle: Deflection, *groups: Sequence[float]) -> Deflection:
    """A difference or sum of means, whose uncertainty also comes from how each group repeats."""
    variance = sum(float(np.var(group, ddof=1)) / len(group) for group in groups if len(group) > 1)
    sources = [*angle.budget, ("repeatability", math.sqrt(variance))]
    return Deflection(angle.deflection_deg, Budget.of(sources))


def limit_deg(limit: Measure, chord_mm: float | None, otherwise_mm: float) -> float:
    """A limit as an angle; a length is taken at the chord, or at `otherwise_mm` where there is none."""
    return angle_of_length_deg(limit.mm, chord_mm or otherwise_mm) if limit.linear else limit.value


def match_limit_deg(sheet: Sheet, surface: str) -> float:
    """How far left may be from right at a throw, as the sheet or its profile has it."""
    return limit_deg(sheet.tolerance(surface, "match"), sheet.surface(surface).chord_mm, 1.0)


def joined(parts: Iterable[CheckResult]) -> CheckResult:
    """Join the parts of one check, at least one, to one result."""
    return reduce(_join, parts)


def _join(first: CheckResult, second: CheckResult) -> CheckResult:
    joint: dict[str, Any] = {"inside": first.inside and second.inside}
    for each in fields(CheckResult):
        mine, other = getattr(first, each.name), getattr(second, each.name)
        if isinstance(mine, tuple):
            joint[each.name] = mine + other
        elif isinstance(mine, dict):
            joint[each.name] = mine | other
        elif mine is None:
            joint[each.name] = other
    return replace(first, **joint)
