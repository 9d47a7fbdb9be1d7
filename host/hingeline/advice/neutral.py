"""What to do next about a neutral, in the trade's order: the clevis, then sub-trim for the last bit."""

from __future__ import annotations

from dataclasses import dataclass
from math import copysign

from hingeline.advice.clevis import Clevis, ClevisAdvice
from hingeline.advice.endpoint import Gain, Reading, SettingAdvice, advise_setting
from hingeline.advice.verdict import Verdict, edge, judge_neutral

PROBE_PERCENT = 5.0
"""A change of sub-trim that shows its gain; half of what common practice calls fine."""

FAR_DEG = 10.0
"""A wider gap is no matter of turns or sub-trim, a spline tooth of the arm is about 15°: common practice, no source."""

_WORTH_TURNING = 0.5  # of a gap may remain after the clevis; else it would be turned to and fro for little


@dataclass(frozen=True)
class Probe:
    """A sub-trim to be set so that its gain can be measured."""

    setting_percent: float

    def text(self) -> str:
        """The advice in words."""
        return (
            f"set the sub-trim to {self.setting_percent:g} % and measure again: "
            "two readings show what 1 % moves, and which way"
        )


@dataclass(frozen=True)
class LookFirst:
    """A gap, trailing edge up positive, so wide that something else is amiss."""

    gap_deg: float

    def text(self) -> str:
        """The advice in words."""
        return (
            f"{edge(self.gap_deg)} to go is too far for clevis or sub-trim: check first that the stick is centred and "
            "the servo arm on its right tooth"
        )


def advise_neutral(
    now: Reading,
    *,
    target_deg: float,
    tolerance_deg: float,
    clevis: Clevis | None,
    gain: Gain | None,
    limit_percent: float,
) -> Verdict | LookFirst | ClevisAdvice | SettingAdvice | Probe:
    """The next step toward a neutral: MATCHED, a look elsewhere, half turns, a sub-trim, or a probe of its gain.

    The target is a mark's deflection, or for a match the other side's; the limit is of the sub-trim. There may be no
    clevis to turn, and no gain of the sub-trim before two readings have shown it.
    """
    verdict = judge_neutral(now.deflection_deg, target_deg, tolerance_deg)
    if verdict.inside:
        return verdict
    if abs(verdict.gap) > FAR_DEG:
        return LookFirst(verdict.gap)
    turns = clevis.advise(now.deflection_deg, target_deg) if clevis is not None else None
    if turns is not None and abs(turns.remaining_deg) <= abs(verdict.gap) * _WORTH_TURNING:
        return turns
    if not limit_percent:
        return turns if turns is not None else verdict
    if gain is None:
        change_percent = copysign(min(PROBE_PERCENT, limit_percent), -now.setting_percent)
        return Probe(now.setting_percent + change_percent)
    sub_trim = advise_setting(
        "sub-trim", now, gain, target_deg=target_deg, tolerance_deg=tolerance_deg, limit_percent=limit_percent
    )
    past_limit = sub_trim.mechanical_deg is not None
    return turns if past_limit and turns is not None and turns.half_turns else sub_trim
