"""Throws: the deflection from neutral at each commanded position, beside the rigging sheet's targets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import groupby
from typing import NamedTuple

from hingeline.advice.verdict import judge_neutral, judge_throw, judge_throw_match
from hingeline.checks.course import is_near, strange
from hingeline.checks.effect import effect_text
from hingeline.checks.endpoints import against_other_side, against_target
from hingeline.checks.hinge import askew_text, back_text, find_hinge
from hingeline.checks.judgement import Advice, judge, wanted, worded
from hingeline.checks.moment import Moment, beside
from hingeline.checks.neutral import MOVED
from hingeline.checks.positions import NEUTRAL, Position, positions
from hingeline.checks.results import HingeResult, ThrowResult
from hingeline.checks.shift import common_shift
from hingeline.checks.values import LEFT_RIGHT, Judgement
from hingeline.measure.capture import Capture, Readings, TakenBack
from hingeline.measure.pipeline import Instrument
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import Target
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, difference, streamwise_deg

STANDING_S = 5.0
"""Where a position is to look as the one before, it is taken after so long: common practice, no source."""


SIDES_FIRST = "see to each side first, then measure again"
"""Why left against right has no verdict where one of them has none, or stands, or goes the other way."""


class _Throw(NamedTuple):
    """One side at a command: its angle, what was said of it, and why the angle is wrong, where that is known."""

    angle: Deflection
    judgement: Judgement
    wrong: str


class ThrowsCheck:
    """The throws of one surface, from the neutral of this visit.

    Parameters
    ----------
    sheet, surface
        The rigging sheet and the name of one of its surfaces.
    sides
        An instrument for each side of the surface.
    neutral
        The rest at neutral.

    Raises
    ------
    HingeVertical, NotMeasurable
        See `Instrument.at_neutral`.
    """

    def __init__(self, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], neutral: Readings) -> None:
        self._sheet, self._surface = sheet, surface
        self.positions = tuple(positions(sheet, surface))
        self._sides = tuple(one.referenced(neutral) for one in sides)
        self._neutral: dict[Side, Gravity] = {one.side: one.at_neutral(neutral) for one in self._sides}
        self.neutral = neutral
        self._at_neutral = self.deflections(neutral)
        self._neutral_targets = {target.side: target for target in sheet.neutrals(surface)}
        self._seen: defaultdict[tuple[str, str], dict[Side, _Throw]] = defaultdict(dict)
        self._last = {
            (one.mode, target.command): one for one in self.positions for target in one.targets.values()
        }
        self._gravities = {side: [gravity] for side, gravity in self._neutral.items()}
        self._readings = [(Position("", NEUTRAL), self._at_neutral)]
        self._off: dict[Side, str] = {}

    def deflections(self, rests: Readings) -> dict[Side, Deflection]:
        """Return each side's deflection from neutral. Raises `HingeVertical`."""
        return {one.side: one.deflection(self._neutral[one.side], one.gravity(rests)) for one in self._sides}

    def off_deg(self, other: ThrowsCheck) -> float:
        """Return how far the neutral of another check of the same sides is from this one, the worse side."""
        return max(abs(one.deflection_deg) for one in self.deflections(other.neutral).values())

    def run(
        self,
        capture: Capture,
        ask: Callable[[Position], None],
        again: Callable[[Position, bool], None],
        cycles: int = 1,
    ) -> Iterator[ThrowResult]:
        """Yield the reading of each position, and of neutral after all of a mode, as often as there are cycles.

        `ask` is called before each, `again` for a rest that is not there yet, with whether the surface went on from
        the last reading, the same way. After a rest was taken back its position is asked for again, and its reading
        yielded anew. A position that should look as the one before is taken after `STANDING_S` too.

        Raises
        ------
        HingelineError
            See `Capture.rest`.
        HingeVertical
            Gravity says nothing about this hinge.
        TakenBack
            It was the rest at neutral, from which this check counts.
        """
        stops, number = self.stops(cycles), 0
        while number < len(stops):
            position, cycle = stops[number]
            standing_s = STANDING_S if self.looks_as_before(position) else None
            try:
                ask(position)
                while self.under_way(position, rests := capture.rest(standing_s=standing_s)):
                    if capture.confirmed:
                        break
                    again(position, self._went_on(rests))
            except TakenBack:
                if not number:
                    raise
                number -= 1
                self._forget()
                continue
            yield self.read(position, rests, cycle)
            number += 1

    def stops(self, cycles: int) -> list[tuple[Position, int]]:
        """Return each position to be held, and in which cycle."""
        stops: list[tuple[Position, int]] = []
        for mode, group in groupby(self.positions, key=lambda one: one.mode):
            places = (*group, Position(mode, NEUTRAL))
            stops += [(place, cycle) for cycle in range(1, cycles + 1) for place in places]
        return stops

    def looks_as_before(self, position: Position) -> bool:
        """Whether a position is to look as the one that was read last, so that nothing need move."""
        left, _ = self._readings[-1]
        return bool(left.targets and position.targets) and all(
            abs(target.deflection_deg - left.goal_deg(side)) <= target.tolerance_deg
            for side, target in position.targets.items()
        )

    def _went_on(self, rests: Readings) -> bool:
        """Whether a side is further from neutral than it was read last, the same way."""
        left, was = self._readings[-1]
        now = self.deflections(rests)
        return any(
            now[side].deflection_deg * was[side].deflection_deg > 0
            and abs(now[side].deflection_deg) - abs(was[side].deflection_deg) > target.tolerance_deg
            for side, target in left.targets.items()
        )

    def _forget(self) -> None:
        self._readings.pop()
        for gravities in self._gravities.values():
            gravities.pop()

    def moments(self, position: Position, rests: Readings) -> tuple[Moment, ...]:
        """Return where each side is now beside the target of a position. Raises `HingeVertical`."""
        angles = self.deflections(rests)
        wrong = {one.side: self._wrong(one, position, rests) for one in self._sides}
        if position.command != NEUTRAL:
            return tuple(
                beside(target, angles[side], judge_throw, wrong[side])
                for side, target in position.targets.items()
            )
        return tuple(
            replace(self._near_neutral(side, angle), wrong=wrong[side]) for side, angle in angles.items()
        )

    def _near_neutral(self, side: Side, angle: Deflection) -> Moment:
        target = self._neutral_targets[side]
        verdict = judge_neutral(angle.deflection_deg, 0.0, target.tolerance_deg)
        return Moment(side, verdict, target.tolerance_deg, angle, 0.0, target.chord_mm, target.convention)

    def under_way(self, position: Position, rests: Readings) -> bool:
        """Whether a rest is too near where the surface came from to be that position."""
        if self.looks_as_before(position):
            return False
        (leaving, was), now = self._readings[-1], self.deflections(rests)
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

    def read(self, position: Position, rests: Readings, cycle: int = 1) -> ThrowResult:
        """Return the reading of a rest at a commanded position. Raises `HingeVertical`."""
        angles = self.deflections(rests)
        first = strange(position, *self._readings[-1], angles)
        self._readings.append((position, angles))
        for one in self._sides:
            self._gravities[one.side].append(one.gravity(rests))
        wrong = {one.side: self._wrong(one, position, rests) for one in self._sides}
        if position.command == NEUTRAL:
            judgements = [self._back(side, angle, wrong[side]) for side, angle in angles.items()]
            moved_deg = common_shift(self._at_neutral, angles)
            return self._result(position, judgements, cycle, moved_deg)
        judgements = []
        for side, target in position.targets.items():
            before = first.get(side) or self._off.get(side, "")
            judgements.append(self._beside(position, target, angles[side], before, wrong[side]))
            self._seen[target.mode, target.command][side] = _Throw(angles[side], judgements[-1], wrong[side])
        judgements += [
            self._matched(command, position, sensible=not first)
            for command in dict.fromkeys(target.command for target in position.targets.values())
            if self._last[position.mode, command] == position and len(self._seen[position.mode, command]) == 2
        ]
        return self._result(position, judgements, cycle)

    def _result(
        self, position: Position, judgements: list[Judgement], cycle: int, moved_deg: float | None = None
    ) -> ThrowResult:
        inside = all(judgement.inside for judgement in judgements)
        return ThrowResult(
            *(self._surface, position.mode, position.command, tuple(judgements), inside, moved_deg, cycle)
        )

    def _wrong(self, one: Instrument, position: Position, rests: Readings) -> str:
        """Return why an angle of a side is none, where that is known."""
        target = position.targets.get(one.side, self._neutral_targets[one.side])
        trouble = one.trouble(target.tolerance_deg, rests, self.neutral)
        return trouble or askew_text(one, self._neutral[one.side], one.gravity(rests))

    def hinges(self) -> tuple[HingeResult, ...]:
        """Return how the readings so far say the sensors sit on the hinge, where they tell it."""
        results = (find_hinge(one, self._gravities[one.side], self._surface) for one in self._sides)
        return tuple(result for result in results if result is not None)

    def _back(self, side: Side, angle: Deflection, wrong: str) -> Judgement:
        tolerance_deg = self._neutral_targets[side].tolerance_deg
        verdict = judge_neutral(angle.deflection_deg, 0.0, tolerance_deg)
        back = back_text(side, angle, tolerance_deg)
        self._off[side] = "" if verdict.inside else back
        return judge(side, angle, verdict, 0.0, tolerance_deg, advice=Advice(back), wrong=wrong)

    def _beside(
        self, position: Position, target: Target, angle: Deflection, before: str, wrong: str
    ) -> Judgement:
        """Judge a side; what comes before an advice takes its place, where there is one."""
        travel, place, tolerance, verdict = wanted(target, angle, judge_throw)
        advice = against_target(target, angle, verdict, preset=position.preset)
        given = self._sheet.surface(self._surface)
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

    def _matched(self, command: str, position: Position, *, sensible: bool) -> Judgement:
        sides = [self._seen[position.mode, command][side] for side in BOTH]
        left, right = (throw.angle for throw in sides)
        (target,) = (one for one in self._sheet_targets(position.mode, command) if one.side == MOVED)
        apart = difference(left, right)
        tolerance_deg = target.match_tolerance_deg
        verdict = judge_throw_match(
            left.deflection_deg, right.deflection_deg, target.deflection_deg, tolerance_deg, MOVED
        )
        cured = any(throw.judgement.advice or throw.wrong for throw in sides)  # at their targets they match
        advice = Advice() if cured else against_other_side(left, right, verdict, preset=position.preset)
        advice = worded(advice, self._sheet.surface(self._surface).kind)
        name = f"{LEFT_RIGHT} {command}" if position.opposed else LEFT_RIGHT
        effect = "" if position.opposed else effect_text(self._sheet, self._surface, apart.deflection_deg)
        wrong = "" if sensible and not any(throw.wrong for throw in sides) else SIDES_FIRST
        return judge(name, apart, verdict, 0.0, tolerance_deg, advice=advice, wrong=wrong, effect=effect)

    def _sheet_targets(self, mode: str, command: str) -> Iterator[Target]:
        return (one for one in self._sheet.targets(self._surface, mode) if one.command == command)
