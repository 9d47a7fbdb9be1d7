"""What to do next about a neutral, in the trade's order: the clevis, then sub-trim for the last bit.

A clevis goes back on its horn only after whole half turns; each alters the rod by half a thread pitch.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, copysign, degrees, floor

from hingeline.advice import Advice
from hingeline.advice.endpoint import Gain, Reading, advise_setting
from hingeline.advice.linkage import Linkage
from hingeline.advice.verdict import edge, judge_neutral
from hingeline.errors import NotMeasurable
from hingeline.units import amount, counted

PROBE_PERCENT = 5.0
"""A change of sub-trim that shows its gain; half of what common practice calls fine."""

FAR_DEG = 10.0
"""A wider gap is no matter of turns or sub-trim, a spline tooth of the arm is about 15°: common practice, no source."""

_TOO_FAR = (
    "to go is too far for clevis or sub-trim: check first that the stick is centred and the servo arm on its right "
    "tooth"
)
_PROBE = "and measure again: two readings show what 1 % moves, and which way"
_WITH_A_LINKAGE = "with a linkage in the sheet, the advice is half turns of the clevis first"
_WORTH_TURNING = 0.5  # of a gap may remain after the clevis; else it would be turned to and fro for little


@dataclass(frozen=True)
class ClevisAdvice:
    """What to turn at the clevis, how that moves the trailing edge, and what is then still to go.

    `half_turn_deg` is how far one half turn moves it; with no half turns the clevis can't do better. With the geometry
    known, positive `half_turns` lengthen the rod; otherwise their sense has to be tried.
    """

    half_turns: int
    moves_deg: float
    remaining_deg: float
    half_turn_deg: float
    geometry_known: bool

    def text(self) -> str:
        """The advice in words."""
        remaining = amount(self.remaining_deg)
        if not self.half_turns:
            half_turn = f"half a turn moves the trailing edge {amount(self.half_turn_deg)}"
            return f"the clevis can't do better: {remaining} to go, {half_turn}"
        count = abs(self.half_turns)
        turns, after = counted(count, "half turn"), f"{edge(self.moves_deg)}; {remaining} remains"
        if self.geometry_known:
            verb = "lengthen" if self.half_turns > 0 else "shorten"
            return f"{verb} the rod by {turns} of the clevis: {after}"
        back = counted(2 * count, "half turn")
        return f"turn the clevis {turns}: {after}. If it gets worse, turn the other way: {back} back"


@dataclass(frozen=True)
class Clevis:
    """A clevis that one turn moves by `pitch_mm` along its rod; `horn_mm` from hinge axis to horn hole.

    Where the linkage as drawn is known, half turns are worked out on it, with their sense.
    """

    pitch_mm: float
    horn_mm: float
    linkage: Linkage | None = None

    @property
    def half_turn_mm(self) -> float:
        """By how much half a turn alters the rod."""
        return self.pitch_mm / 2

    @property
    def half_turn_deg(self) -> float:
        """How far half a turn moves a surface whose horn stands square to the rod."""
        return degrees(self.half_turn_mm / self.horn_mm)

    def advise(self, now_deg: float, target_deg: float) -> ClevisAdvice:
        """The whole number of half turns that brings a neutral nearest to its target.

        Raises `LinkageBinds` where the linkage can't stand where the surface was measured or should be.
        """
        linkage, gap_deg = self.linkage, target_deg - now_deg
        if linkage is None:
            half_turns = round(abs(gap_deg) / self.half_turn_deg)
            moves_deg = copysign(half_turns * self.half_turn_deg, gap_deg)
            return ClevisAdvice(half_turns, moves_deg, gap_deg - moves_deg, self.half_turn_deg, False)
        rod_mm = linkage.rod_for_mm(now_deg)

        def moves(half_turns: int) -> float:
            turned = replace(linkage, rod_mm=rod_mm + half_turns * self.half_turn_mm)
            return turned.deflection_deg(0.0) - now_deg

        exact = (linkage.rod_for_mm(target_deg) - rod_mm) / self.half_turn_mm
        best = min((floor(exact), ceil(exact)), key=lambda half_turns: abs(moves(half_turns) - gap_deg))
        half_turn_deg = abs(moves(best - 1) - moves(best + 1)) / 2
        return ClevisAdvice(best, moves(best), gap_deg - moves(best), half_turn_deg, True)


@dataclass(frozen=True)
class Trim:
    """What was advised to one side so far, and what that did.

    Sub-trims count from where the sub-trim stands at the first reading, as if that were 0; `setting_percent` is the one
    advised last, at most what the sheet allows. There is a clevis where the sheet has a linkage, a reading before from
    the second on, and a gain of the sub-trim once a change has shown it.
    """

    clevis: Clevis | None
    limit_percent: float
    setting_percent: float = 0.0
    before: Reading | None = None
    gain: Gain | None = None

    def advise(
        self, now_deg: float, standard_uncertainty_deg: float, wanted_deg: float, tolerance_deg: float
    ) -> tuple[Trim, Advice]:
        """This trim after an advice, and the advice; what was advised before is taken to have been done.

        A side is wanted at a mark's deflection, or for a match at the other side's.
        """
        now = Reading(self.setting_percent, now_deg, standard_uncertainty_deg)
        known = replace(self, before=now, gain=self._gain(now))
        advice = known._advise(now, wanted_deg, tolerance_deg)
        if advice.setting_percent is not None:
            known = replace(known, setting_percent=advice.setting_percent)
        return known, advice

    def _gain(self, now: Reading) -> Gain | None:
        """What the last change of sub-trim did; as known before where it was not changed."""
        if self.before is None or self.before.setting_percent == now.setting_percent:
            return self.gain
        try:
            return Gain(self.before, now)
        except NotMeasurable:
            return None

    def _advise(self, now: Reading, target_deg: float, tolerance_deg: float) -> Advice:
        """Nothing within the tolerance, a look elsewhere, half turns, a sub-trim, or a probe of its gain."""
        verdict = judge_neutral(now.deflection_deg, target_deg, tolerance_deg)
        if verdict.inside:
            return Advice()
        if abs(verdict.gap) > FAR_DEG:
            return Advice(f"{edge(verdict.gap)} {_TOO_FAR}", verdict.gap)
        turns = None if self.clevis is None else self.clevis.advise(now.deflection_deg, target_deg)
        is_worth_it = turns is not None and abs(turns.remaining_deg) <= abs(verdict.gap) * _WORTH_TURNING
        if turns is not None and (is_worth_it or not self.limit_percent):
            return Advice(turns.text(), turns.moves_deg)
        if not self.limit_percent:
            return Advice(edge(verdict.gap), verdict.gap)
        if self.gain is None:
            return self._probe(now.setting_percent)
        setting = {"target_deg": target_deg, "tolerance_deg": tolerance_deg, "limit_percent": self.limit_percent}
        sub_trim = advise_setting("sub-trim", now, self.gain, **setting)
        mechanical_deg = sub_trim.mechanical_deg or 0.0
        if mechanical_deg and turns is not None and turns.half_turns:
            advice = Advice(turns.text(), turns.moves_deg)
        else:
            advice = Advice(sub_trim.text(), sub_trim.moves_deg + mechanical_deg, sub_trim.new_percent)
        return advice

    def _probe(self, now_percent: float) -> Advice:
        """A change of sub-trim that shows its gain, back toward 0."""
        percent = now_percent + copysign(min(PROBE_PERCENT, self.limit_percent), -now_percent)
        text = f"set the sub-trim to {percent:g} % {_PROBE}"
        return Advice(text if self.clevis else f"{text}; {_WITH_A_LINKAGE}", setting_percent=percent)
