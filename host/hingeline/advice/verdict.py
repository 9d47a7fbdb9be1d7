"""ADD, HOLD or EASE: a measured throw or neutral beside its target."""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign
from typing import Literal

from hingeline.units import Side, amount

Word = Literal["ADD", "HOLD", "EASE"]
NO_VERDICT = "no verdict"
"""In place of a word: the angle is known to be wrong, and so is its gap."""

_ROUNDING = 9  # decimals: a gap of 0.3 computed as 12.3 - 12.0 is still within a tolerance of 0.3


@dataclass(frozen=True)
class Verdict:
    """How far a reading is from its target, and which way.

    Attributes
    ----------
    word
        ADD: more is wanted; HOLD: within the tolerance; EASE: less is wanted.
    gap
        What is still to be added, in `unit`; negative where there is too much. Of a throw, along the throw;
        of a neutral, trailing edge up.
    unit
        A key of `UNITS`.
    inside
        Whether the gap is within the tolerance.
    of
        What was judged: a throw or a neutral.
    side
        The side that is to move, where one side is matched to the other.
    """

    word: Word
    gap: float
    unit: str
    inside: bool
    of: Literal["throw", "neutral"] = "throw"
    side: Side | None = None

    def text(self) -> str:
        """Return the word and what it asks for."""
        if self.inside:
            return f"{self.word}: {amount(self.gap, self.unit)} off, within the tolerance you set"
        who = f"{self.side} " if self.side else ""
        if self.of == "throw":
            return (
                f"{self.word}: {who}{amount(self.gap, self.unit)} {'more' if self.gap > 0 else 'less'} throw"
            )
        return f"{self.word}: {who}{edge(self.gap, self.unit)}"


def judge_throw(measured: float, target: float, tolerance: float, unit: str = "deg") -> Verdict:
    """Return the verdict on a throw, up (positive) or down (negative) from neutral.

    Parameters
    ----------
    measured, target, tolerance
        In `unit`. A surface that went the wrong way has a gap larger than its target.
    """
    return _judge(copysign(1.0, target) * (target - measured), tolerance, unit, "throw", None)


def judge_neutral(measured: float, target: float, tolerance: float, unit: str = "deg") -> Verdict:
    """Return the verdict on a neutral with a target of its own; ADD asks for trailing edge up."""
    return _judge(target - measured, tolerance, unit, "neutral", None)


def judge_match(left: float, right: float, tolerance: float, move: Side, unit: str = "deg") -> Verdict:
    """Return the verdict on the neutrals of two sides, as what the side `move` has to do."""
    gap = right - left if move == "left" else left - right
    return _judge(gap, tolerance, unit, "neutral", move)


def judge_throw_match(left: float, right: float, target: float, tolerance: float, move: Side) -> Verdict:
    """Return the verdict on a throw of two sides, degrees, as what the side `move` has to do along `target`."""
    gap = judge_match(left, right, tolerance, move).gap
    return _judge(copysign(1.0, target) * gap, tolerance, "deg", "throw", move)


def _judge(
    gap: float, tolerance: float, unit: str, of: Literal["throw", "neutral"], side: Side | None
) -> Verdict:
    inside = round(abs(gap) - tolerance, _ROUNDING) <= 0
    word: Word = "HOLD" if inside else "ADD" if gap > 0 else "EASE"
    return Verdict(word, gap, unit, inside, of, side)


def edge(value: float, unit: str = "deg") -> str:
    """Return which way and how far a trailing edge goes."""
    return f"trailing edge {'up' if value >= 0 else 'down'} {amount(value, unit)}"
