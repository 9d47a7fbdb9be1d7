"""Neutrals: left against right, and each against the rigging sheet, as angles about the hinge from the datum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from hingeline.advice.clevis import Clevis
from hingeline.advice.linkage import Linkage
from hingeline.advice.verdict import Verdict, edge, judge_match, judge_neutral
from hingeline.capture import Rests
from hingeline.checks.judgement import Advice, Judgement, angle_dict
from hingeline.pipeline import Instrument
from hingeline.rig import sheet
from hingeline.rig.kinds import Side
from hingeline_calibration.datum import Datum, mismatch
from hingeline_calibration.hinge import Deflection

MOVED: Literal["left", "right"] = "right"
"""The side that is matched to the other one, which was brought to the manual's mark."""


@dataclass(frozen=True)
class NeutralReading:
    """One rest at neutral: by side the angle about the hinge from the datum, and what it comes to."""

    angles: dict[Side, Deflection]
    judgements: tuple[Judgement, ...]

    @property
    def inside(self) -> bool:
        """Whether every verdict is HOLD."""
        return all(judgement.inside for judgement in self.judgements)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "angles": {side: angle_dict(angle) for side, angle in self.angles.items()},
            "judgements": [judgement.to_dict() for judgement in self.judgements],
            "inside": self.inside,
        }


class NeutralCheck:
    """The neutral of one surface.

    Parameters
    ----------
    rig, surface
        The rigging sheet and the name of one of its surfaces.
    sides
        An instrument for each side of the surface.
    datum
        With every instrument's sensor in it.
    """

    def __init__(self, rig: sheet.Sheet, surface: str, sides: tuple[Instrument, ...], datum: Datum) -> None:
        self._sides = sides
        self._datum = datum
        self._targets = {target.side: target for target in rig.neutrals(surface)}
        self._clevis = _clevis(rig.surface(surface).linkage)

    def read(self, rests: Rests) -> NeutralReading:
        """Return the reading of a rest. Raises `HingeVertical`, `OtherSensor`."""
        angles = {one.side: one.angle(self._datum, one.gravity(rests)) for one in self._sides}
        judgements = [self._in_place(side, angle) for side, angle in angles.items() if self._has_place(side)]
        if {"left", "right"} <= set(angles):
            judgements.insert(0, self._matched(angles["left"], angles["right"]))
        return NeutralReading(angles, tuple(judgements))

    def _has_place(self, side: Side) -> bool:
        """Whether a side is judged alone: the sheet gives its slope, or there is no other side."""
        return self._targets[side].reference == "level" or len(self._sides) == 1

    def _matched(self, left: Deflection, right: Deflection) -> Judgement:
        tolerance_deg = self._targets["left"].tolerance_deg
        verdict = judge_match(left.deflection_deg, right.deflection_deg, tolerance_deg, MOVED)
        advice = self._advice(verdict, right.deflection_deg, left.deflection_deg)
        return Judgement("left - right", mismatch(left, right), None, 0.0, tolerance_deg, verdict, advice)

    def _in_place(self, side: Side, angle: Deflection) -> Judgement:
        target = self._targets[side]
        wanted_deg = target.deflection_deg if target.reference == "level" and target.deflection_deg else 0.0
        verdict = judge_neutral(angle.deflection_deg, wanted_deg, target.tolerance_deg)
        advice = self._advice(verdict, angle.deflection_deg, wanted_deg)
        return Judgement(side, angle, None, wanted_deg, target.tolerance_deg, verdict, advice)

    def _advice(self, verdict: Verdict, now_deg: float, wanted_deg: float) -> Advice:
        if verdict.inside:
            return Advice()
        if self._clevis is None:
            words = (
                f"{edge(verdict.gap)}; with a linkage in the sheet this is told in half turns of the clevis"
            )
            return Advice(words, verdict.gap)
        turns = self._clevis.advise(now_deg, wanted_deg)
        return Advice(turns.text(), turns.moves_deg)


def _clevis(given: sheet.Linkage | None) -> Clevis | None:
    """Return the clevis that a sheet describes, on its four-bar chain where that is described too."""
    if given is None:
        return None
    if given.arm_mm is None or given.rod_mm is None or given.horn_side is None:
        return Clevis(given.thread, given.horn_mm)
    chain = Linkage.square(given.arm_mm, given.horn_mm, given.rod_mm, given.horn_side)
    return Clevis(given.thread, given.horn_mm, chain)
