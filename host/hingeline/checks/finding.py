"""One fault that was looked for: how large it is, beside how large it may be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from hingeline.measure.pipeline import travel_of
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Sheet
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection
from hingeline_calibration.travel import angle_of_length_deg

Unit = Literal["deg", "mm", "ratio"]
_ROUNDING = 9


@dataclass(frozen=True)
class Finding:
    """A value beside its limit.

    Attributes
    ----------
    what
        What was looked for, and where.
    value, standard_uncertainty
        In `unit`.
    limit
        How far the value may be from `expected`.
    expected
        What the value is where nothing is wrong.
    candidates
        Likely causes where it is beyond the limit, the likeliest first: candidates, not a verdict.
    """

    what: str
    value: float
    standard_uncertainty: float
    unit: Unit
    limit: float
    expected: float = 0.0
    candidates: tuple[str, ...] = ()

    @property
    def inside(self) -> bool:
        """Whether the value is within the limit."""
        return round(abs(self.value - self.expected) - self.limit, _ROUNDING) <= 0

    @property
    def close(self) -> bool:
        """Whether the limit is within the 95 % uncertainty of the value."""
        excess = abs(self.value - self.expected) - self.limit
        return abs(excess) < COVERAGE_FACTOR * self.standard_uncertainty

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        reach = COVERAGE_FACTOR * self.standard_uncertainty
        return {
            "what": self.what,
            "value": round(self.value, 4),
            "unit": self.unit,
            "standard_uncertainty": round(self.standard_uncertainty, 4),
            "interval_95": [round(self.value - reach, 4), round(self.value + reach, 4)],
            "expected": self.expected,
            "limit": round(self.limit, 4),
            "inside": self.inside,
            "close": self.close,
            "candidates": [] if self.inside else list(self.candidates),
        }


@dataclass(frozen=True)
class Found:
    """What a check found.

    Attributes
    ----------
    findings
        Each beside its limit.
    notes
        What else is to be known of it, in words.
    details
        The readings behind it, ready for JSON.
    """

    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    details: dict[str, Any]

    @property
    def inside(self) -> bool:
        """Whether everything is within its limit."""
        return all(finding.inside for finding in self.findings)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "findings": [finding.to_dict() for finding in self.findings],
            "notes": list(self.notes),
            **self.details,
            "inside": self.inside,
        }


def of_angle(
    what: str, angle: Deflection, limit_deg: float, candidates: Sequence[str], spread_deg: float = 0.0
) -> Finding:
    """Return the finding of an angle; `spread_deg` is its standard uncertainty from how it repeats."""
    uncertainty_deg = math.hypot(angle.standard_uncertainty_deg, spread_deg)
    return Finding(
        what, angle.deflection_deg, uncertainty_deg, "deg", limit_deg, candidates=tuple(candidates)
    )


def of_travel(
    what: str,
    angle: Deflection,
    *,
    chord_mm: float,
    convention: str,
    limit_mm: float,
    candidates: Sequence[str],
    spread_deg: float = 0.0,
) -> Finding:
    """Return the finding of an angle as travel at the chord; otherwise as `of_angle`."""
    repeating = Budget.of([*angle.budget.items(), ("repeatability", spread_deg)])
    travel = travel_of(Deflection(angle.deflection_deg, repeating), chord_mm, convention)
    return Finding(
        what,
        travel.travel_mm,
        travel.standard_uncertainty_mm,
        "mm",
        limit_mm,
        candidates=tuple(candidates),
    )


def mean_gravity(several: Iterable[Gravity]) -> Gravity:
    """Return the mean of readings that were taken in one position, at least one."""
    all_of = tuple(several)
    known = [one.temperature_c for one in all_of if one.temperature_c is not None]
    return Gravity(
        vector_g=np.mean([one.vector_g for one in all_of], axis=0),
        covariance_g2=np.sum([one.covariance_g2 for one in all_of], axis=0) / len(all_of) ** 2,
        temperature_c=sum(known) / len(known) if known else None,
        time_s=all_of[0].time_s,
        duration_s=sum(one.duration_s for one in all_of),
    )


def spread_of_mean(*groups: Sequence[float]) -> float:
    """Return the standard uncertainty of a difference or sum of means from how each group repeats."""
    return math.sqrt(sum(float(np.var(group, ddof=1)) / len(group) for group in groups if len(group) > 1))


def limit_deg(limit: Measure, chord_mm: float | None, otherwise_mm: float) -> float:
    """Return a limit as an angle; a length is taken at the chord, or at `otherwise_mm` where there is none."""
    return angle_of_length_deg(limit.mm, chord_mm or otherwise_mm) if limit.linear else limit.value


def match_limit_deg(sheet: Sheet, surface: str) -> float:
    """Return how far left may be from right at a throw, as the sheet or its profile has it."""
    return limit_deg(sheet.tolerance(surface, "match"), sheet.surface(surface).chord_mm, 1.0)


def joined(parts: Iterable[Found]) -> Found:
    """Return what several checks found as one."""
    all_of = tuple(parts)
    return Found(
        tuple(finding for part in all_of for finding in part.findings),
        tuple(note for part in all_of for note in part.notes),
        {key: value for part in all_of for key, value in part.details.items()},
    )
