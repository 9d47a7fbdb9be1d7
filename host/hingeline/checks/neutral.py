"""Neutrals: left against right, and each against the rigging sheet, as angles about the hinge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from hingeline.advice import Advice
from hingeline.advice.neutral import Trim
from hingeline.advice.verdict import MOVED, Verdict, judge_match
from hingeline.checks.attitude import ROLL, find_roll
from hingeline.checks.course import common_shift
from hingeline.checks.effect import effect_text
from hingeline.checks.judgement import NOTHING, Comparison, Moment, compare, judge, worded
from hingeline.checks.linkage import clevis_of
from hingeline.checks.results import NeutralResult
from hingeline.checks.values import LEFT_RIGHT, Angle, Judgement
from hingeline.errors import UsageProblem
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.measure.uncertainty import telling
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget
from hingeline.units import Side
from hingeline_calibration.attitude import Roll, without_roll
from hingeline_calibration.budget import Budget
from hingeline_calibration.datum import LEVEL, Datum, mismatch
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HINGE_AXIS, Deflection


@dataclass(frozen=True, eq=False)
class NeutralCheck:
    """The neutral of one surface of a rigging sheet, read again after each change by an instrument for each side.

    It counts from the datum, with every instrument's sensor in it; from the readings in the faired position where the
    sheet counts from there, None before these are taken. The trims are what was advised so far, by what it was advised
    for; `before` are the angles at the last reading. Of the sensors that were `lost` since the datum it holds no more.
    Raises `UsageProblem` where the sheet has no neutral for a surface with one side.
    """

    sheet: Sheet
    surface: str
    instruments: tuple[Instrument, ...]
    reference: Datum | NeutralReading | None
    trims: Mapping[str, Trim] = field(default_factory=dict)
    before: Mapping[Side, Deflection] = field(default_factory=dict)
    lost: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if isinstance(self.reference, NeutralReading):
            object.__setattr__(self, "instruments", self.reference.instruments)
        if len(self.instruments) == 1 and self._targets[self.instruments[0].side].reference is None:
            raise UsageProblem(
                f"The sheet has no neutral for the {self.surface}, and it has no other side to match",
                'Write where it belongs, such as neutral.faired = "0 mm", or set it by eye and go on with '
                "`hingeline throws`",
            )

    def roll(self, readings: Readings) -> Roll | None:
        """The roll of the model, where it matters: the hinge is swept, and counted from the datum."""
        return self._roll({each.side: each.gravity(readings) for each in self.instruments})

    def _roll(self, gravity: Mapping[Side, Gravity]) -> Roll | None:
        sweep_deg = self.sheet.surface(self.surface).sweep_deg
        if not sweep_deg or not isinstance(self.reference, Datum):
            return None
        return find_roll(self.instruments, gravity, sweep_deg)

    @cached_property
    def _targets(self) -> dict[Side, NeutralTarget]:
        return {target.side: target for target in self.sheet.neutrals(self.surface)}

    def read(self, readings: Readings) -> tuple[NeutralCheck, NeutralResult]:
        """The check after a reading, and what it comes to.

        Raises `HingeVertical` and `OtherSensor` as `Datum.angle`, and `NotMeasurable` of a sensor that is upside down.
        """
        check = replace(self, instruments=tuple(instrument.referenced(readings) for instrument in self.instruments))
        return check._read(readings)

    def _read(self, readings: Readings) -> tuple[NeutralCheck, NeutralResult]:
        angles, wrong = self._angles(readings), self._doubts(readings)
        trims = dict(self.trims)
        judgements = [
            self._in_place(self._targets[side], comparison, trims)
            for side, comparison in self._compare(angles, wrong).items()
        ]
        if {"left", "right"} <= set(angles):
            doubts = (doubt._replace(reason=f"{side}: {doubt.reason}") for side, doubt in wrong.items() if doubt)
            either = next(doubts, None)
            judgements.insert(0, self._matched(angles["left"], angles["right"], either, trims))
        result = NeutralResult(
            self.surface,
            tuple(judgements),
            all(judgement.inside for judgement in judgements),
            common_shift(self.before, angles),
            {side: Angle.of(angle) for side, angle in angles.items()},
        )
        return replace(self, trims=trims, before=angles), result

    @property
    def wants_hinge(self) -> bool:
        """Whether the last reading is uncertain mostly by where the hinge runs in a sensor that was never swept."""
        return any(
            instrument.hinge.alone is None
            and (rows := self.before[instrument.side].budget.without(LEVEL).rows)
            and rows[0].source in (HINGE_AXIS, ROLL)
            and telling(Budget(rows[:1]), self._targets[instrument.side].tolerance_deg)
            for instrument in self.instruments
            if instrument.side in self.before
        )

    def is_far(self, readings: Readings, from_deg: float) -> bool:
        """Whether a side is further from the last reading than a neutral is adjusted at once. Raises as `read`."""
        now = self._angles(readings)
        return any(
            abs(now[side].deflection_deg - before.deflection_deg) > from_deg for side, before in self.before.items()
        )

    def moments(self, readings: Readings) -> tuple[Moment, ...]:
        """Where the matched side, or each side with its own target, is now. Raises as `read`."""
        angles, wrong = self._angles(readings), self._doubts(readings)
        moments = {
            side: Moment.of(self._targets[side], comparison, self._targets[side].deflection_deg or 0.0)
            for side, comparison in self._compare(angles, wrong).items()
        }
        if {"left", "right"} <= set(angles) and MOVED not in moments:
            left, right, either = angles["left"], angles["right"], wrong["left"] or wrong["right"]
            comparison = Comparison(mismatch(right, left), self._match(left, right), wrong=either)
            moments[MOVED] = Moment.of(self._targets[MOVED], comparison)
        return tuple(moments.values())

    def _compare(self, angles: Mapping[Side, Deflection], wrong: Mapping[Side, Doubt | None]) -> dict[Side, Comparison]:
        """Each side that has its own target, beside that target."""
        return {
            side: compare(self._targets[side], angle, wrong[side])
            for side, angle in angles.items()
            if self._targets[side].reference
        }

    def _doubts(self, readings: Readings) -> dict[Side, Doubt | None]:
        """By side, why its angle is not valid, where that is known."""
        faired = (self.reference.readings,) if isinstance(self.reference, NeutralReading) else ()
        return {each.side: self._lost_doubt(each) or each.trouble(readings, *faired) for each in self.instruments}

    def _lost_doubt(self, instrument: Instrument) -> Doubt | None:
        """Why the datum does not hold for a sensor: it stopped answering since, its chip may be reset."""
        if instrument.sensor_id not in self.lost or not isinstance(self.reference, Datum):
            return None
        return Doubt(
            f"sensor {instrument.sensor_id} stopped answering since the datum, and may have been reset or exchanged",
            "take the datum again: `hingeline datum`",
        )

    def _angles(self, readings: Readings) -> dict[Side, Deflection]:
        reference = self.reference
        if reference is None:
            return {}
        now = {each.side: each.at_neutral(readings) for each in self.instruments}
        if isinstance(reference, Datum):
            angles = {each.side: each.angle(reference, now[each.side]) for each in self.instruments}
            roll = self._roll(now)
            return angles if roll is None else without_roll(angles, roll)
        return {each.side: each.deflection(reference.gravity[each.side], now[each.side]) for each in self.instruments}

    def _match(self, left: Deflection, right: Deflection) -> Verdict:
        return judge_match(left.deflection_deg, right.deflection_deg, self._targets[MOVED].tolerance_deg)

    def _matched(self, left: Deflection, right: Deflection, wrong: Doubt | None, trims: dict[str, Trim]) -> Judgement:
        comparison = Comparison(mismatch(left, right), self._match(left, right), wrong=wrong)
        if not comparison.is_known:
            return judge(LEFT_RIGHT, comparison)
        advice = self._advise(LEFT_RIGHT, mismatch(right, left), 0.0, comparison.verdict.tolerance, trims)
        if advice.text:
            advice = replace(advice, text=f"{MOVED} side: {advice.text}")
        effect = effect_text(self.sheet, self.surface, comparison.measured.deflection_deg)
        return judge(LEFT_RIGHT, comparison, advice=advice, effect=effect)

    def _in_place(self, target: NeutralTarget, comparison: Comparison, trims: dict[str, Trim]) -> Judgement:
        advice, place_deg = NOTHING, target.deflection_deg or 0.0
        if comparison.is_known and not comparison.verdict.inside:
            advice = self._advise(target.side, comparison.measured, place_deg, target.tolerance_deg, trims)
        return judge(target.side, comparison, advice=advice)

    def _advise(
        self, name: str, now: Deflection, place_deg: float, tolerance_deg: float, trims: dict[str, Trim]
    ) -> Advice:
        """Advise on a side's own target, or on the moved side, counted from the other side; enter it in the trims."""
        surface = self.sheet.surface(self.surface)
        trim = trims.get(name) or Trim(clevis_of(surface.linkage), self.sheet.sub_trim_limit_percent)
        trims[name], advice = trim.advise(now.deflection_deg, now.standard_uncertainty_deg, place_deg, tolerance_deg)
        return worded(advice, surface.kind)


def needs_faired(sheet: Sheet, surface: str) -> bool:
    """Whether the sheet counts the neutral of a surface from its faired position."""
    return any(target.reference == "faired" for target in sheet.neutrals(surface))
