"""Neutrals: left against right, and each against the rigging sheet, as angles about the hinge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from hingeline.advice.verdict import judge_match, judge_neutral
from hingeline.checks.effect import effect_text
from hingeline.checks.judgement import Advice, is_known, judge, wanted, worded
from hingeline.checks.moment import Moment, beside
from hingeline.checks.results import NeutralResult
from hingeline.checks.shift import common_shift
from hingeline.checks.trim import Trim, clevis_of
from hingeline.checks.values import LEFT_RIGHT, Angle, Judgement
from hingeline.errors import UsageProblem
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt, of_side
from hingeline.measure.pipeline import Instrument
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget
from hingeline.units import Side
from hingeline_calibration.datum import Datum, mismatch
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection

MOVED: Side = "right"
"""The side that is matched to the other one, which was brought to the manual's mark."""


@dataclass(frozen=True, eq=False)
class NeutralCheck:
    """The neutral of one surface, read again after each change.

    Parameters
    ----------
    sheet, surface
        The rigging sheet and the name of one of its surfaces.
    instruments
        One for each side of the surface.
    reference
        The datum, with every instrument's sensor in it; the readings in the faired position where the sheet counts the
        neutral from there.
    trims
        What was advised so far, by what it was advised for.
    before
        By side, the angle at the last reading.

    Raises
    ------
    UsageProblem
        The sheet has no neutral for a surface with one side.
    """

    sheet: Sheet
    surface: str
    instruments: tuple[Instrument, ...]
    reference: Datum | Readings
    trims: Mapping[str, Trim] = field(default_factory=dict)
    before: Mapping[Side, Deflection] = field(default_factory=dict)

    def __post_init__(self) -> None:
        sides = self.instruments
        if len(sides) == 1 and self._targets[sides[0].side].reference is None:
            raise UsageProblem(
                f"The sheet has no neutral for the {self.surface}, and it has no other side to match",
                'Write where it belongs, such as neutral.faired = "0 mm", or set it by eye and go on with '
                "`hingeline throws`",
            )

    @cached_property
    def _targets(self) -> dict[Side, NeutralTarget]:
        return {target.side: target for target in self.sheet.neutrals(self.surface)}

    @cached_property
    def _sides(self) -> tuple[Instrument, ...]:
        if isinstance(self.reference, Datum):
            return self.instruments
        return tuple(instrument.referenced(self.reference) for instrument in self.instruments)

    @cached_property
    def _faired(self) -> dict[Side, Gravity]:
        if isinstance(self.reference, Datum):
            return {}
        return {instrument.side: instrument.at_neutral(self.reference) for instrument in self._sides}

    def read(self, readings: Readings) -> tuple[NeutralCheck, NeutralResult]:
        """The check after a reading, and what it comes to.

        Raises
        ------
        HingeVertical, OtherSensor
            See `Datum.angle`.
        NotMeasurable
            A sensor is upside down.
        """
        check = replace(self, instruments=tuple(instrument.referenced(readings) for instrument in self._sides))
        return check._read(readings)

    def _read(self, readings: Readings) -> tuple[NeutralCheck, NeutralResult]:
        angles = self._angles(readings)
        wrong = {instrument.side: self._wrong(instrument, readings) for instrument in self._sides}
        trims = dict(self.trims)
        judgements = [
            self._in_place(side, angle, wrong[side], trims)
            for side, angle in angles.items()
            if self._targets[side].reference
        ]
        if {"left", "right"} <= set(angles):
            either = next((of_side(side, doubt) for side, doubt in wrong.items() if doubt), None)
            judgements.insert(0, self._matched(angles["left"], angles["right"], either, trims))
        moved_deg = common_shift(self.before, angles)
        result = NeutralResult(
            self.surface,
            tuple(judgements),
            all(judgement.inside for judgement in judgements),
            moved_deg,
            {side: Angle.of(angle) for side, angle in angles.items()},
        )
        return replace(self, trims=trims, before=angles), result

    def moments(self, readings: Readings) -> tuple[Moment, ...]:
        """Where the matched side, or each side with its own target, is now. Raises as `read`."""
        angles = self._angles(readings)
        wrong = {instrument.side: self._wrong(instrument, readings) for instrument in self._sides}
        moments = {
            side: beside(self._targets[side], angle, judge_neutral, wrong[side])
            for side, angle in angles.items()
            if self._targets[side].reference
        }
        if {"left", "right"} <= set(angles) and MOVED not in moments:
            now = self._match_now(angles["left"], angles["right"])
            moments[MOVED] = replace(now, wrong=wrong["left"] or wrong["right"])
        return tuple(moments.values())

    def _wrong(self, instrument: Instrument, readings: Readings) -> Doubt | None:
        """Why an angle of a side is none, where that is known."""
        faired = () if isinstance(self.reference, Datum) else (self.reference,)
        return instrument.trouble(self._targets[instrument.side].tolerance_deg, readings, *faired)

    def _match_now(self, left: Deflection, right: Deflection) -> Moment:
        target = self._targets[MOVED]
        verdict = judge_match(left.deflection_deg, right.deflection_deg, target.tolerance_deg, MOVED)
        now = mismatch(right, left)
        return Moment(MOVED, verdict, target.tolerance_deg, now, 0.0, target.chord_mm, target.convention)

    def _angles(self, readings: Readings) -> dict[Side, Deflection]:
        return {instrument.side: self._angle(instrument, instrument.at_neutral(readings)) for instrument in self._sides}

    def _angle(self, instrument: Instrument, now: Gravity) -> Deflection:
        if isinstance(self.reference, Datum):
            return instrument.angle(self.reference, now)
        return instrument.deflection(self._faired[instrument.side], now)

    def _matched(self, left: Deflection, right: Deflection, wrong: Doubt | None, trims: dict[str, Trim]) -> Judgement:
        tolerance_deg = self._targets["left"].tolerance_deg
        apart = mismatch(left, right)
        verdict = judge_match(left.deflection_deg, right.deflection_deg, tolerance_deg, MOVED)
        if wrong or not is_known(verdict, tolerance_deg, apart.budget):
            return judge(LEFT_RIGHT, apart, verdict, 0.0, tolerance_deg, wrong=wrong)
        from_left = replace(apart, deflection_deg=-apart.deflection_deg)
        advice = self._advice(LEFT_RIGHT, from_left, 0.0, tolerance_deg, trims)
        if advice.text:
            advice = replace(advice, text=f"{MOVED} side: {advice.text}")
        effect = effect_text(self.sheet, self.surface, apart.deflection_deg)
        return judge(LEFT_RIGHT, apart, verdict, 0.0, tolerance_deg, advice=advice, effect=effect)

    def _in_place(self, side: Side, angle: Deflection, wrong: Doubt | None, trims: dict[str, Trim]) -> Judgement:
        target = self._targets[side]
        travel, place, tolerance, verdict = wanted(target, angle, judge_neutral)
        place_deg = target.deflection_deg or 0.0
        advice = Advice()
        budget = travel.budget if verdict.unit == "mm" and travel is not None else angle.budget
        if not (wrong or verdict.inside) and is_known(verdict, tolerance, budget):
            advice = self._advice(side, angle, place_deg, target.tolerance_deg, trims)
        return judge(side, angle, verdict, place, tolerance, advice=advice, travel=travel, wrong=wrong)

    def _advice(
        self, name: str, now: Deflection, place_deg: float, tolerance_deg: float, trims: dict[str, Trim]
    ) -> Advice:
        """Advise on a place of its own, or on the moved side's, counted from the other side; enter it in the trims."""
        surface = self.sheet.surface(self.surface)
        trim = trims.get(name) or Trim(clevis_of(surface.linkage), self.sheet.sub_trim_limit_percent)
        trims[name], advice = trim.advise(now.deflection_deg, now.standard_uncertainty_deg, place_deg, tolerance_deg)
        return worded(advice, surface.kind)


def needs_faired(sheet: Sheet, surface: str) -> bool:
    """Whether the sheet counts the neutral of a surface from its faired position."""
    return any(target.reference == "faired" for target in sheet.neutrals(surface))
