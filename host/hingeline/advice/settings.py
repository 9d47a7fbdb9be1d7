"""Which few settings to turn so that every throw of a surface comes within its tolerance, and none leaves it.

A servo turns by end point (of its direction) × rate (of a mode) × mix (of a function), so each setting multiplies the
throws that it drives; a bent linkage and a shifted neutral add to them.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import Literal, NamedTuple

from hingeline.advice import Advice
from hingeline.advice.endpoint import Gain, Reading, advise_setting
from hingeline.advice.verdict import edge
from hingeline.errors import NotMeasurable
from hingeline.units import Side

END_POINT_LIMIT_PERCENT = 150.0
"""What most transmitters allow as an end point: common practice, no source."""
RATE_LIMIT_PERCENT = 125.0
"""The same of a rate or a mix; it counts where it is known what they stand at."""
NOW_PERCENT = 100.0
"""A setting stands at this where nobody said otherwise."""
LINKAGE = "see that the servo arm is square to the rod and the horn hole over the hinge line"
AGAIN = "no setting does that alone: measure it again, the stick all the way; then look for play and flex"

_UNEVEN_PERCENT = 5.0
"""End points of one servo that are to differ by more hint at its linkage: common practice, no source."""

Kind = Literal["end point", "end points", "rate", "mix", "differential", "linkage", "neutral"]


@dataclass(frozen=True)
class Row:
    """A throw of one side from neutral, as it is wanted and as it was read; None where it was not, or doubtfully.

    `function` is the function of several that commands it, or the preset where it `is_preset`. `match_deg` is how far
    left may be from right.
    """

    side: Side
    function: str
    mode: str
    direction: str
    wanted_deg: float
    tolerance_deg: float
    match_deg: float
    measured_deg: float | None = None
    standard_uncertainty_deg: float = 0.0
    is_preset: bool = False

    def shares_end(self, other: Row) -> bool:
        """Whether another throw is driven by the same end point."""
        return (self.side, self.direction) == (other.side, other.direction)

    @property
    def name(self) -> str:
        """Words for it."""
        direction = "" if self.is_preset else self.direction
        side = "" if self.side == "middle" else self.side
        return " ".join(filter(None, (side, self.function, direction, f"({self.mode})")))


class Setting(NamedTuple):
    """Something to turn, and the rows that it drives: an empty field stands for any."""

    kind: Kind
    cost: float  # of a settled order: the least is thought of first
    side: Side | Literal[""] = ""
    function: str = ""
    mode: str = ""
    direction: str = ""

    def drives(self, row: Row) -> bool:
        """Whether turning it moves that throw."""
        fields = (self.side, self.function, self.mode, self.direction)
        return all(
            not field or field == own
            for field, own in zip(fields, (row.side, row.function, row.mode, row.direction), strict=True)
        )

    @property
    def multiplies(self) -> bool:
        """Whether it is a number in the transmitter, which its throws are in proportion to."""
        return self.kind not in ("linkage", "neutral")

    def effect(self, row: Row) -> float:
        """What one unit of it does to a throw: to its logarithm where it multiplies, else in degrees.

        A bent linkage adds in proportion to the square of the throw, to first order.
        """
        return (row.wanted_deg**2 if self.kind == "linkage" else 1.0) if self.drives(row) else 0.0

    @property
    def name(self) -> str:
        """As a transmitter has it."""
        side = "" if self.side == "middle" else self.side
        if self.kind == "rate":
            words = [self.mode, "rate", self.function and f"of the {self.function}"]
        elif self.kind == "differential":
            words = [self.direction, "side of the", self.mode, self.function, "differential"]
        elif self.kind == "mix":
            words = [self.direction and f"{self.direction} side of the", side, self.function, "mix", self.mode]
            words[-1] = self.mode and f"in {self.mode}"
        else:
            words = [side, self.kind, self.direction]
        return " ".join(filter(None, words))


@dataclass(frozen=True)
class Change:
    """A setting with the factor that its throws take; of `linkage` and `neutral`, what adds to them instead.

    `rows` are those that it drives, as they were read, the largest throw first.
    """

    setting: Setting
    amount: float
    rows: tuple[Row, ...]
    now_percent: float = NOW_PERCENT

    @property
    def new_percent(self) -> float:
        """What the setting goes to, in whole steps."""
        return float(round(self.now_percent * self.amount))

    def advise(self, row: Row) -> Advice:
        """It in words for a row that it drives, and how it moves the trailing edge there."""
        setting, measured_deg = self.setting, row.measured_deg or 0.0
        if setting.kind == "linkage":
            return Advice(f"up and down are uneven in every mode: {LINKAGE}, then measure again")
        if setting.kind == "neutral":
            text = "both ends are off the same way in every mode: take the neutral again, then clevis or sub-trim"
            return Advice(f"{text}: {edge(self.amount)}", self.amount)
        if setting.function and row.is_preset:
            move_deg = measured_deg * (self.amount - 1)
            return Advice(f"in the {setting.function} mix: {edge(move_deg)}", move_deg)
        try:
            now = Reading(self.now_percent, measured_deg, row.standard_uncertainty_deg)
            step = advise_setting(
                setting.kind if setting.kind == "end point" else setting.name,
                now,
                Gain(Reading(0.0, 0.0, 0.0), now),
                target_deg=measured_deg * self.amount,
                tolerance_deg=0.0,
                limit_percent=END_POINT_LIMIT_PERCENT if setting.kind == "end point" else inf,
            )
        except NotMeasurable as problem:
            return Advice(str(problem))
        return Advice(step.text(), step.moves_deg, step.new_percent)


@dataclass(frozen=True)
class Cures:
    """What to turn, the rows that stay out of tolerance then, and the rows that were not read."""

    changes: tuple[Change, ...] = ()
    remaining: tuple[Row, ...] = ()
    unread: tuple[Row, ...] = ()

    def at(self, row: Row) -> tuple[Change, ...]:
        """What of it drives a row: a linkage or neutral that is off goes first, numbers after it is measured again."""
        driving = tuple(change for change in self.changes if change.setting.drives(row))
        return tuple(change for change in driving if not change.setting.multiplies) or driving

    def unread_beside(self, row: Row) -> tuple[Row, ...]:
        """The throws that share its end point and were not read; presets come last and need not be waited for."""
        return tuple(each for each in self.unread if not each.is_preset and row.shares_end(each))

    @property
    def first(self) -> tuple[Change, ...]:
        """What is to be turned now, whatever else comes later."""
        return tuple(change for change in self.changes if all(change in self.at(row) for row in change.rows))

    @property
    def uneven(self) -> tuple[Side, ...]:
        """The sides whose end points are to be turned opposite ways: their linkage comes first."""
        by_side: dict[Side, list[float]] = {}
        for change in self.changes:
            if change.setting.kind == "end point" and change.setting.side:
                by_side.setdefault(change.setting.side, []).append(100 * change.amount - 100)
        return tuple(
            side
            for side, percents in by_side.items()
            if min(percents) < 0 < max(percents) and max(percents) - min(percents) > _UNEVEN_PERCENT
        )
