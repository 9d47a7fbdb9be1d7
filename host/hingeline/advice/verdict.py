"""The words of a verdict: a throw is MORE, WITHIN or LESS, a neutral LOW, MATCHED or HIGH."""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign
from typing import Literal

from hingeline.units import Side, amount

Kind = Literal["throw", "neutral"]
VerdictUnit = Literal["deg", "mm"]
Word = Literal["MORE", "WITHIN", "LESS", "LOW", "MATCHED", "HIGH"]
MOVED: Side = "right"
"""The side that is matched to the other one, which was brought to the manual's mark."""
NO_VERDICT = "NO VERDICT"
"""In place of a word, with a reason and a cure: the angle is known to be wrong, or not known well enough."""
WORDS: dict[Kind, tuple[Word, Word, Word]] = {
    "throw": ("MORE", "WITHIN", "LESS"),
    "neutral": ("LOW", "MATCHED", "HIGH"),
}
"""By what is judged: more is wanted, or trailing edge up; within the tolerance; less, or trailing edge down."""

_ROUNDING = 9  # decimals: a gap of 0.3 computed as 12.3 - 12.0 is still within a tolerance of 0.3


@dataclass(frozen=True)
class Verdict:
    """How far a reading is from its target, and which way; all numbers in `unit`.

    `gap` is what is still to be added, negative where there is too much. Of a throw it counts along the throw, of a
    neutral trailing edge up. Of a match it is what the `MOVED` side has to do, whose target is 0 from the other.
    """

    kind: Kind
    word: Word
    gap: float
    target: float
    tolerance: float
    unit: VerdictUnit = "deg"

    @property
    def inside(self) -> bool:
        """Whether the gap is within the tolerance."""
        return self.word == WORDS[self.kind][1]


def verdict_text(word: str, gap: float, unit: str, side: str = "") -> str:
    """Write a verdict: one of `WORDS` or `NO_VERDICT`, with the side that is off or is matched, where there is one."""
    if word in (NO_VERDICT, "MATCHED"):
        return word
    size = amount(gap, unit)
    if word == "WITHIN":
        return f"{word} ({size} off)"
    if word in WORDS["neutral"]:
        return f"{side.upper()} {size} {word}".strip()
    if side:
        other = "left" if side == "right" else "right"
        return f"{side} {size} {'short of' if word == 'MORE' else 'beyond'} {other}"
    return f"{word} {size}"


def judge_throw(measured: float, target: float, tolerance: float, unit: VerdictUnit = "deg") -> Verdict:
    """The verdict on a throw from neutral, in `unit`. One that went the wrong way is off by more than its target."""
    return _judge("throw", copysign(1.0, target) * (target - measured), target, tolerance, unit)


def judge_neutral(measured: float, target: float, tolerance: float, unit: VerdictUnit = "deg") -> Verdict:
    """The verdict on a neutral with a target of its own: LOW where the trailing edge has to go up."""
    return _judge("neutral", target - measured, target, tolerance, unit)


def judge_match(left: float, right: float, tolerance: float) -> Verdict:
    """The verdict on the neutrals of two sides, in degrees."""
    return _judge("neutral", left - right, 0.0, tolerance)


def judge_throw_match(left: float, right: float, target: float, tolerance: float) -> Verdict:
    """The verdict on a throw of two sides, in degrees, along `target`."""
    return _judge("throw", copysign(1.0, target) * (left - right), 0.0, tolerance)


def _judge(kind: Kind, gap: float, target: float, tolerance: float, unit: VerdictUnit = "deg") -> Verdict:
    wanting, within, beyond = WORDS[kind]
    inside = round(abs(gap) - tolerance, _ROUNDING) <= 0
    return Verdict(kind, within if inside else wanting if gap > 0 else beyond, gap, target, tolerance, unit)


def edge(value: float, unit: str = "deg") -> str:
    """Which way and how far a trailing edge goes."""
    return f"trailing edge {'up' if value >= 0 else 'down'} {amount(value, unit)}"
