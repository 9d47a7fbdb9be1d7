"""Throws: the deflection from neutral at each commanded position, beside the rigging sheet's targets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby

from hingeline.advice import Advice
from hingeline.advice.search import find_cures
from hingeline.advice.settings import Cures, Row
from hingeline.advice.verdict import MOVED, judge_neutral, judge_throw_match
from hingeline.checks.course import common_shift, is_near, off_neutral, strange, uncertain_by
from hingeline.checks.effect import effect_text
from hingeline.checks.hinge import back_text, doubt_of_seat, find_hinge
from hingeline.checks.judgement import Comparison, Moment, compare, judge, worded
from hingeline.checks.positions import NEUTRAL, Key, Position, key_of, positions
from hingeline.checks.results import HingeResult, SettingSheet, ThrowResult
from hingeline.checks.settings import Throw, advise_row, driven_with, rows_of, setting_sheet
from hingeline.checks.values import LEFT_RIGHT, Judgement
from hingeline.measure.capture import Readings
from hingeline.measure.cautions import Doubt
from hingeline.measure.neutral import NeutralReading
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import NeutralTarget
from hingeline.units import Side
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, difference, streamwise_deg

STANDING_S = 5.0
"""A position that should look like the one before is taken after this time: common practice, no source."""


SIDES_FIRST = Doubt("one side can't be judged, or both", "put each side right first, then measure again")
"""Why left against right has no verdict where one of them has none, or stands, or goes the other way."""


@dataclass(frozen=True, eq=False)
class ThrowsCheck:
    """The throws of one surface of a rigging sheet, from its neutral, as far as they were read.

    `now_percent` holds the known present settings, by name. `last` is the position that was read last,
    with each side's angle there; `throws` holds the last ones by mode, command and side; `gravities`, by side, are
    those of all readings after that at neutral. `came_back` is, by side, what is to be said of how it came back to
    neutral last; empty where it did well. `off_deg` is how far a side came back off neutral, by more than noise: its
    throws are uncertain by that. `moved` is why none of them has a verdict: the model was moved.
    """

    sheet: Sheet
    surface: str
    neutral: NeutralReading
    now_percent: Mapping[str, float] = field(default_factory=dict)
    last: tuple[Position, dict[Side, Deflection]] | None = None
    throws: Mapping[Key, Throw] = field(default_factory=dict)
    gravities: Mapping[Side, tuple[Gravity, ...]] = field(default_factory=dict)
    came_back: Mapping[Side, str] = field(default_factory=dict)
    off_deg: Mapping[Side, float] = field(default_factory=dict)
    moved: Doubt | None = None

    @cached_property
    def _first(self) -> dict[Side, Deflection]:
        """The angles at neutral: nothing, known as well as a reading is."""
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
        return self.last or (Position("", NEUTRAL), self._first)

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

    def moments(self, position: Position, readings: Readings) -> tuple[Moment, ...]:
        """Where each side is now beside the target of a position. Raises `HingeVertical`."""
        comparisons = self._compare(position, readings, self.neutral.deflections(readings))
        return tuple(
            Moment.of(position.targets.get(side, self._neutral_targets[side]), comparison, position.goal_deg(side))
            for side, comparison in comparisons.items()
        )

    def _compare(
        self, position: Position, readings: Readings, angles: Mapping[Side, Deflection]
    ) -> dict[Side, Comparison]:
        """By side, its angle beside the target of a position, or beside 0 at neutral."""
        comparisons = {}
        for instrument in self.neutral.instruments:
            side, neutral = instrument.side, self._neutral_targets[instrument.side]
            target, angle = position.targets.get(side), angles[side]
            tolerance_deg = (target or neutral).tolerance_deg
            if target is not None and side in self.off_deg:
                angle = uncertain_by(angle, self.off_deg[side])
            wrong = (
                (self.moved if target is not None else None)
                or instrument.trouble(readings, self.neutral.readings)
                or doubt_of_seat(instrument, self.neutral.gravity[side], instrument.gravity(readings))
            )
            if target is not None:
                comparisons[side] = compare(target, angle, wrong)
            elif position.command == NEUTRAL:
                verdict = judge_neutral(angle.deflection_deg, 0.0, tolerance_deg)
                comparisons[side] = Comparison(angle, verdict, wrong=wrong)
        return comparisons

    def under_way(self, position: Position, readings: Readings) -> bool:
        """Whether a rest is too near where the surface came from to be that position."""
        if self.looks_as_before(position):
            return False
        (leaving, was), now = self._left, self.neutral.deflections(readings)
        near = [
            is_near(now[side].deflection_deg, was[side].deflection_deg, leaving.goal_deg(side), position.goal_deg(side))
            for side in position.targets or leaving.targets
        ]
        return any(near) if position.command == NEUTRAL else all(near)

    def read(self, position: Position, readings: Readings, cycle: int = 1) -> tuple[ThrowsCheck, ThrowResult]:
        """The check with a reading at a commanded position, and what it comes to. Raises `HingeVertical`."""
        angles = self.neutral.deflections(readings)
        comparisons = self._compare(position, readings, angles)
        gravities = {
            side: (*self.gravities.get(side, ()), gravity) for side, gravity in self.neutral.gravities(readings).items()
        }
        check, moved_deg = replace(self, last=(position, angles), gravities=gravities), None
        if position.command == NEUTRAL:
            check, judgements = check._read_back(comparisons)
            moved_deg = common_shift(self._first, angles)
            check = replace(check, off_deg=off_neutral(angles), moved=None)
        else:
            check, judgements = check._read_throw(position, comparisons, strange(position, *self._left, angles))
        inside = all(judgement.inside for judgement in judgements)
        return check, ThrowResult(
            *(self.surface, position.mode, position.command, tuple(judgements), inside, moved_deg, cycle)
        )

    def _read_back(self, comparisons: Mapping[Side, Comparison]) -> tuple[ThrowsCheck, list[Judgement]]:
        """Judge each side back at neutral; later throws say first of one that is off how it came back."""
        judgements, came_back = [], {}
        for side, comparison in comparisons.items():
            text = back_text(side, comparison.measured, comparison.verdict.tolerance)
            judgements.append(judge(side, comparison, advice=Advice(text)))
            came_back[side] = "" if comparison.verdict.inside else text
        return replace(self, came_back=came_back), judgements

    def _read_throw(
        self, position: Position, comparisons: Mapping[Side, Comparison], first: Mapping[Side, str]
    ) -> tuple[ThrowsCheck, list[Judgement]]:
        """Judge each side, and left against right once both were read; `first` is what comes before any advice."""
        fresh = {
            key_of(target): Throw(comparisons[side], first.get(side) or self.came_back.get(side, ""))
            for side, target in position.targets.items()
        }
        known = dict(self.throws)
        if self.last is not None and self.last[0] == position:  # held, while a setting is turned
            turned = [key for key, throw in fresh.items() if key in known and throw.is_turned_from(known[key])]
            for key in driven_with(turned, self._rows, self.cures) & known.keys():
                known[key] = known[key]._replace(stale=True)
        check = replace(self, throws=known | fresh)
        judgements = [check._beside(key) for key in fresh]
        for command in dict.fromkeys(target.command for target in position.targets.values()):
            sides = {side: check.throws.get((position.mode, command, side)) for side in BOTH}
            if self._is_last(position, command) and all(sides.values()):
                judgements.append(check._matched(command, position, is_sensible=not first))
        return check, judgements

    @property
    def stale(self) -> tuple[Position, ...]:
        """The positions to be read again, as a setting was turned since that drives them."""
        keys = {key for key, throw in self.throws.items() if throw.stale}
        return tuple(
            position
            for position in self.positions
            if any(key_of(target) in keys for target in position.targets.values())
        )

    def judged_again(self, later: ThrowsCheck) -> ThrowsCheck:
        """The check with the throws of another one, which judged the same readings by what came of them later."""
        throws = {key: throw._replace(stale=self.throws[key].stale) for key, throw in later.throws.items()}
        return replace(self, throws={**self.throws, **throws})

    def from_neutral(self, neutral: NeutralReading, lost: Iterable[Position] = ()) -> ThrowsCheck:
        """The check from another neutral on, without the throws at positions that are to be read again."""
        gone = {key_of(target) for position in lost for target in position.targets.values()}
        throws = {key: throw for key, throw in self.throws.items() if key not in gone}
        return ThrowsCheck(self.sheet, self.surface, neutral, self.now_percent, throws=throws)

    @cached_property
    def _rows(self) -> dict[Key, Row]:
        return rows_of(self.sheet, self.surface, self.throws)

    @cached_property
    def cures(self) -> Cures:
        """What to turn, as far as the positions were read."""
        return find_cures(tuple(self._rows.values()), self.now_percent)

    @property
    def settings(self) -> SettingSheet:
        """The same as a result."""
        return setting_sheet(self.surface, self.cures, self.now_percent)

    def _advise(self, key: Key) -> Advice:
        """What to turn for one throw, in words for the kind of surface."""
        return worded(advise_row(self.cures, self._rows[key]), self.sheet.surface(self.surface).kind)

    def _is_last(self, position: Position, command: str) -> bool:
        """Whether a position is the last of those that show a command of its mode."""
        showing = [
            (each.mode, each.command)
            for each in self.positions
            if (position.mode, command) in {(target.mode, target.command) for target in each.targets.values()}
        ]
        return showing[-1] == (position.mode, position.command)

    def hinges(self) -> tuple[HingeResult, ...]:
        """How the sensors sit on the hinge by the readings so far, where these show it."""
        gravities = {side: (first, *self.gravities.get(side, ())) for side, first in self.neutral.gravity.items()}
        results = (find_hinge(each, gravities[each.side], self.surface) for each in self.neutral.instruments)
        return tuple(result for result in results if result is not None)

    def _beside(self, key: Key) -> Judgement:
        """Judge a side; what comes before an advice takes its place, where there is one."""
        (comparison, before, _), (_, _, side) = self.throws[key], key
        given = self.sheet.surface(self.surface)
        advice, deg = Advice(), comparison.measured.deflection_deg
        if not (comparison.wrong or comparison.verdict.inside):
            advice = Advice(before) if before else self._advise(key)
        streamwise = streamwise_deg(deg, given.sweep_deg) if given.sweep_deg else None
        return judge(side, comparison, advice=advice, streamwise_deg=streamwise)

    def _matched(self, command: str, position: Position, *, is_sensible: bool) -> Judgement:
        """Judge left against right; where they do not match, the side that is further off its target is off."""
        throws = {side: self.throws[position.mode, command, side] for side in BOTH}
        angles = {side: throw.comparison.measured for side, throw in throws.items()}
        targets = self.sheet.targets(self.surface, position.mode)
        target = next(target for target in targets if (target.side, target.command) == (MOVED, command))

        left_deg, right_deg = (angles[side].deflection_deg for side in BOTH)
        verdict = judge_throw_match(left_deg, right_deg, target.deflection_deg, target.match_tolerance_deg)
        advice = Advice()
        off_deg = {side: abs(angle.deflection_deg - target.deflection_deg) for side, angle in angles.items()}
        off: Side = MOVED if verdict.inside or off_deg[MOVED] >= off_deg["left"] else "left"
        is_wrong = any(throw.comparison.wrong for throw in throws.values())
        if not is_wrong and all(throw.comparison.verdict.inside for throw in throws.values()) and not verdict.inside:
            advice = self._advise((position.mode, command, off))
            advice = replace(advice, text=advice.text and f"{off}: {advice.text}")
        wrong = None if is_sensible and not is_wrong else SIDES_FIRST
        comparison = Comparison(difference(angles["left"], angles["right"]), verdict, wrong=wrong)
        name = f"{LEFT_RIGHT} {command}" if position.opposed else LEFT_RIGHT
        effect = "" if position.opposed else effect_text(self.sheet, self.surface, comparison.measured.deflection_deg)
        return judge(name, comparison, advice=advice, off=off, effect=effect)
