"""The plain values that results are made of: an angle, a travel, a judgement of one angle beside its target."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import AfterValidator, FiniteFloat

from hingeline.advice.verdict import MOVED, VerdictUnit, verdict_text
from hingeline.units import Side, printable
from hingeline_calibration.hinge import Deflection
from hingeline_calibration.hinge import Travel as Length

Text = Annotated[str, AfterValidator(printable)]
Unit = Literal["deg", "mm", "ratio"]
Interval = tuple[FiniteFloat, FiniteFloat]
Numbers = tuple[FiniteFloat, ...]

LEFT_RIGHT = "left - right"
"""The name of a judgement of one side against the other begins so."""

_SEEN_FROM_LEFT = {"MORE": "LESS", "LESS": "MORE"}


def half(interval: Interval) -> float:
    """Half of an interval: what stands behind ±."""
    return (interval[1] - interval[0]) / 2


@dataclass(frozen=True)
class Angle:
    """An angle, trailing edge up positive: its 95 % interval, and its standard uncertainty by source."""

    deg: FiniteFloat
    standard_uncertainty_deg: FiniteFloat
    interval_95_deg: Interval
    budget_deg: dict[Text, FiniteFloat] = field(default_factory=dict)

    @classmethod
    def of(cls, angle: Deflection) -> Angle:
        """The plain values of a measured angle."""
        parts = dict(angle.budget.items())
        return cls(angle.deflection_deg, angle.standard_uncertainty_deg, angle.interval_deg, parts)

    @property
    def reach_deg(self) -> float:
        """Half of the interval."""
        return half(self.interval_95_deg)


@dataclass(frozen=True)
class Travel:
    """A travel at the chord and its 95 % interval."""

    mm: FiniteFloat
    convention: Text
    interval_95_mm: Interval
    standard_uncertainty_mm: FiniteFloat = 0.0

    @classmethod
    def of(cls, travel: Length) -> Travel:
        """The plain values of a measured travel."""
        return cls(travel.travel_mm, travel.convention, travel.interval_mm, travel.standard_uncertainty_mm)

    @property
    def reach_mm(self) -> float:
        """Half of the interval."""
        return half(self.interval_95_mm)


@dataclass(frozen=True)
class Judgement:
    """One angle, trailing edge up positive, beside its target; all other numbers in `unit`.

    The name is "left", "right" or "middle", or begins with `LEFT_RIGHT`. Gap and verdict are as in `Verdict`, or it is
    `NO_VERDICT`, with the reason and what to do about it. It is `close` where the verdict could be the other one: the
    limit is inside the 95 % interval. Of a match at a throw, the side that is `off` is further off its target. It is
    `wrong` where the angle is known to be another than that of the surface: nothing else is computed of it. Where there
    is a verdict, `limited_by` says what the uncertainty comes from, if it takes much of the tolerance. Following the
    advice moves the trailing edge by `moves_deg`, and sets the transmitter to `setting_percent`, where that is it. The
    effect is what a mismatch does in flight, empty where the sheet doesn't tell enough. Of a swept hinge,
    `streamwise_deg` is the angle in a section along the stream.
    """

    name: Text
    measured: Angle
    unit: VerdictUnit
    target: FiniteFloat
    tolerance: FiniteFloat
    gap: FiniteFloat
    verdict: Text
    inside: bool
    off: Side = MOVED
    close: bool = False
    travel: Travel | None = None
    reason: Text = ""
    cure: Text = ""
    wrong: bool = False
    limited_by: Text = ""
    advice: Text = ""
    moves_deg: FiniteFloat = 0.0
    setting_percent: FiniteFloat | None = None
    effect: Text = ""
    streamwise_deg: FiniteFloat | None = None

    @property
    def verdict_text(self) -> str:
        """The verdict and its amount."""
        if self.name.startswith(LEFT_RIGHT):
            side: str = self.off
            if side != MOVED and self.verdict in _SEEN_FROM_LEFT:
                return verdict_text(_SEEN_FROM_LEFT[self.verdict], self.gap, self.unit, side)
        else:
            side = "" if self.name == "middle" or self.verdict in ("MORE", "LESS") else self.name
        return verdict_text(self.verdict, self.gap, self.unit, side)

    @property
    def to_do(self) -> str:
        """What to turn, or else why there is no verdict and what to do about that."""
        return self.advice or ": ".join(filter(None, (self.reason, self.cure)))


@dataclass(frozen=True)
class SettingChange:
    """One thing to turn: of a setting of the transmitter, from what per cent to what; by words alone else."""

    name: Text
    text: Text
    side: Side | Literal[""] = ""
    now_percent: FiniteFloat | None = None
    new_percent: FiniteFloat | None = None


@dataclass(frozen=True)
class Step:
    """Left minus right at one place of a sweep, moving one way."""

    position_deg: FiniteFloat
    way: Literal["rising", "falling"]
    left_minus_right_deg: FiniteFloat
    standard_uncertainty_deg: FiniteFloat = 0.0
    lines: int = 0
