"""Throws: the deflection from neutral at each commanded position, beside the rigging sheet's targets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby
from typing import NamedTuple

from hingeline.advice.verdict import judge_neutral, judge_throw, judge_throw_match
from hingeline.checks.course import is_near, strange
from hingeline.checks.effect import effect_text
from hingeline.checks.endpoints import against_other_side, against_target
from hingeline.checks.hinge import back_text, doubt_of_seat, find_hinge
from hingeline.checks.judgement import Advice, judge, wanted, worded
from hingeline.checks.moment import Moment, beside
from hingeline.checks.neutral import MOVED
from hingeline.checks.positions import NEUTRAL, Position, positions
from hingeline.checks.results import HingeResult, ThrowResult
from hingeline.checks.shift import common_shift
from hingeline.checks.values import LEFT_RIGHT, Judgement
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget, Target
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, difference, streamwise_deg

STANDING_S = 5.0
"""Where a position is to look as the one before, it is taken after so long: common practice, no source."""


SIDES_FIRST = Doubt("one side can't be judged, or both", "put each side right first, then measure again")
"""Why left against right has no verdict where one of them has none, or stands, or goes the other way."""


class Throw(NamedTuple):
    """One side at a command: its angle, what was said of it, and why the angle is wrong, where that is known."""

    angle: Deflection
    judgement: Judgement
    wrong: Doubt | None


@dataclass(frozen=True, eq=False)
class ThrowsCheck:
    """The throws of one surface, from the neutral of this session, as far as they were read.

    Parameters
    ----------
    sheet, surface
        The rigging sheet and the name of one of its surfaces.
    neutral
        Its readings at neutral.
    last
        The position that was read last, and each side's angle there; None before there is one.
    judged
        By mode and command, then by side, the last judgement.
    gravities
        By side, of all readings after that at neutral.
    came_back
        By side, what is to be said of how it came back to neutral last; empty where it did well.
    """

    sheet: Sheet
    surface: str
    neutral: NeutralReading
    last: tuple[Position, dict[Side, Deflection]] | None = None
    judged: Mapping[tuple[str, str], Mapping[Side, Throw]] = field(default_factory=dict)
    gravities: Mapping[Side, tuple[Gravity, ...]] = field(default_factory=dict)
    came_back: Mapping[Side, str] = field(default_factory=dict)

    @cached_property
    def _at_neutral(self) -> dict[Side, Deflection]:
        return self.neutral.deflections(self.neutral.readings)

    @cached_property
    def _neutral_targets(self) -> dict[Side, NeutralTarget]:
        return {target.side: target for target in self.sheet.neutrals(self.surface)}

    @cached_property
    def positions(self) -> tuple[Position, ...]:
        """Those that the sheet gives, mode by mode."""
        return tuple(positions(self.sheet, self.surface))

    @property
    def _left(self) -> tuple[Position, dict[Side, Deflection]]:
        """The position that the surface leaves, and where it was there."""
        return self.last or (Position("", NEUTRAL), self._at_neutral)

    def stops(self, cycles: int) -> list[tuple[Position, int]]:
        """Each position to be held, neutral after all of a mode, and in which cycle."""
        stops: list[tuple[Position, int]] = []
        for mode, group in groupby(self.positions, key=lambda position: position.mode):
            places = (*group, Position(mode, NEUTRAL))
            stops += [(place, cycle) for cycle in range(1, cycles + 1) for place in places]
        return stops

    def looks_as_before(self, position: Position) -> bool:
        """Whether a position is to look as the one that was read last, so that nothing need move."""
        left, _ = self._left
        return bool(left.targets and position.targets) and all(
            abs(target.deflection_deg - left.goal_deg(side)) <= target.tolerance_deg
            for side, target in position.targets.items()
        )

    def went_on(self, readings: Readings) -> bool:
        """Whether a side is further from neutral than it was read last, the same way."""
        left, was = self._left
        now = self.neutral.deflections(readings)
        return any(
            now[side].deflection_deg * was[side].deflection_deg > 0
            and abs(now[side].deflection_deg) - abs(was[side].deflection_deg) > target.tolerance_deg
            for side, target in left.targets.items()
        )

    def moments(self, position: Position, readings: Readings) -> tuple[Moment, ...]:
        """Where each side is now beside the target of a position. Raises `HingeVertical`."""
        angles = self.neutral.deflections(readings)
        wrong = {
            instrument.side: self._wrong(instrument, position, readings) for instrument in self.neutral.instruments
        }
        if position.command != NEUTRAL:
            return tuple(
                beside(target, angles[side], judge_throw, wrong[side]) for side, target in position.targets.items()
            )
        return tuple(replace(self._near_neutral(side, angle), wrong=wrong[side]) for side, angle in angles.items())

    def _near_neutral(self, side: Side, angle: Deflection) -> Moment:
        target = self._neutral_targets[side]
        verdict = judge_neutral(angle.deflection_deg, 0.0, target.tolerance_deg)
        return Moment(side, verdict, target.tolerance_deg, angle, 0.0, target.chord_mm, target.convention)

    def under_way(self, position: Position, readings: Readings) -> bool:
        """Whether a rest is too near where the surface came from to be that position."""
        if self.looks_as_before(position):
            return False
        (leaving, was), now = self._left, self.neutral.deflections(readings)
        near = [
            is_near(
                now[side].deflection_deg,
                was[side].deflection_deg,
                leaving.goal_deg(side),
                position.goal_deg(side),
            )
            for side in position.targets or leaving.targets
        ]
        return any(near) if position.command == NEUTRAL else all(near)

    def read(self, position: Position, readings: Readings, cycle: int = 1) -> tuple[ThrowsCheck, ThrowResult]:
        """The check with a reading at a commanded position, and what it comes to. Raises `HingeVertical`."""
        angles = self.neutral.deflections(readings)
        gravities = {
            side: (*self.gravities.get(side, ()), gravity) for side, gravity in self.neutral.gravities(readings).items()
        }
        follows = replace(self, last=(position, angles), gravities=gravities)
        wrong = {
            instrument.side: self._wrong(instrument, position, readings) for instrument in self.neutral.instruments
        }
        if position.command == NEUTRAL:
            back = {side: self._back(side, angle, wrong[side]) for side, angle in angles.items()}
            came_back = {side: text for side, (_, text) in back.items()}
            judgements = [judgement for judgement, _ in back.values()]
            moved_deg = common_shift(self._at_neutral, angles)
            return replace(follows, came_back=came_back), self._result(position, judgements, cycle, moved_deg)
        first = strange(position, *self._left, angles)
        judged = {key: dict(sides) for key, sides in self.judged.items()}
        judgements = []
        for side, target in position.targets.items():
            before = first.get(side) or self.came_back.get(side, "")
            judgements.append(self._beside(position, target, angles[side], before, wrong[side]))
            throw = Throw(angles[side], judgements[-1], wrong[side])
            judged.setdefault((target.mode, target.command), {})[side] = throw
        judgements += [
            self._matched(command, position, judged[position.mode, command], sensible=not first)
            for command in dict.fromkeys(target.command for target in position.targets.values())
            if self._is_last(position, command) and len(judged[position.mode, command]) == 2
        ]
        return replace(follows, judged=judged), self._result(position, judgements, cycle)

    def _result(
        self, position: Position, judgements: list[Judgement], cycle: int, moved_deg: float | None = None
    ) -> ThrowResult:
        inside = all(judgement.inside for judgement in judgements)
        return ThrowResult(
            *(self.surface, position.mode, position.command, tuple(judgements), inside, moved_deg, cycle)
        )

    def _is_last(self, position: Position, command: str) -> bool:
        """Whether a position is the last of those that show a command of its mode."""
        showing = [
            other
            for other in self.positions
            if other.mode == position.mode and any(target.command == command for target in other.targets.values())
        ]
        return showing[-1] == position

    def _wrong(self, instrument: Instrument, position: Position, readings: Readings) -> Doubt | None:
        """Why an angle of a side is no angle of its surface, where that is known."""
        target = position.targets.get(instrument.side, self._neutral_targets[instrument.side])
        trouble = instrument.trouble(target.tolerance_deg, readings, self.neutral.readings)
        return trouble or doubt_of_seat(instrument, self.neutral.gravity[instrument.side], instrument.gravity(readings))

    def hinges(self) -> tuple[HingeResult, ...]:
        """How the readings so far say the sensors sit on the hinge, where they tell it."""
        results = (
            find_hinge(
                instrument,
                [self.neutral.gravity[instrument.side], *self.gravities.get(instrument.side, ())],
                self.surface,
            )
            for instrument in self.neutral.instruments
        )
        return tuple(result for result in results if result is not None)

    def _back(self, side: Side, angle: Deflection, wrong: Doubt | None) -> tuple[Judgement, str]:
        """The judgement of a side that came back to neutral, and what later throws say first of how it did."""
        tolerance_deg = self._neutral_targets[side].tolerance_deg
        verdict = judge_neutral(angle.deflection_deg, 0.0, tolerance_deg)
        back = back_text(side, angle, tolerance_deg)
        judgement = judge(side, angle, verdict, 0.0, tolerance_deg, advice=Advice(back), wrong=wrong)
        return judgement, "" if verdict.inside else back

    def _beside(
        self, position: Position, target: Target, angle: Deflection, before: str, wrong: Doubt | None
    ) -> Judgement:
        """Judge a side; what comes before an advice takes its place, where there is one."""
        travel, place, tolerance, verdict = wanted(target, angle, judge_throw)
        advice = against_target(target, angle, verdict, mix=position.mix)
        given = self.sheet.surface(self.surface)
        if wrong or (before and not verdict.inside):
            advice = Advice("" if wrong else before)
        advice = worded(advice, given.kind)
        sweep_deg = given.sweep_deg
        streamwise = streamwise_deg(angle.deflection_deg, sweep_deg) if sweep_deg else None
        return judge(
            *(target.side, angle, verdict, place, tolerance),
            advice=advice,
            travel=travel,
            wrong=wrong,
            streamwise_deg=streamwise,
        )

    def _matched(self, command: str, position: Position, judged: Mapping[Side, Throw], *, sensible: bool) -> Judgement:
        sides = [judged[side] for side in BOTH]
        left, right = (throw.angle for throw in sides)
        (target,) = (target for target in self._targets(position.mode, command) if target.side == MOVED)
        apart = difference(left, right)
        tolerance_deg = target.match_tolerance_deg
        verdict = judge_throw_match(
            left.deflection_deg, right.deflection_deg, target.deflection_deg, tolerance_deg, MOVED
        )
        cured = any(throw.judgement.advice or throw.wrong for throw in sides)  # at their targets they match
        advice = Advice() if cured else against_other_side(left, right, verdict, mix=position.mix)
        advice = worded(advice, self.sheet.surface(self.surface).kind)
        name = f"{LEFT_RIGHT} {command}" if position.opposed else LEFT_RIGHT
        effect = "" if position.opposed else effect_text(self.sheet, self.surface, apart.deflection_deg)
        wrong = None if sensible and not any(throw.wrong for throw in sides) else SIDES_FIRST
        return judge(name, apart, verdict, 0.0, tolerance_deg, advice=advice, wrong=wrong, effect=effect)

    def _targets(self, mode: str, command: str) -> Iterator[Target]:
        return (target for target in self.sheet.targets(self.surface, mode) if target.command == command)
