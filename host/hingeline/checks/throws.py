"""Throws: the deflection from neutral at each commanded position, beside the rigging sheet's targets."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from hingeline.advice.verdict import Verdict, judge_match, judge_throw
from hingeline.capture import Capture, Rests
from hingeline.checks.judgement import Advice, Judgement
from hingeline.checks.neutral import MOVED
from hingeline.pipeline import Instrument
from hingeline.rig.kinds import Side
from hingeline.rig.sheet import Sheet
from hingeline.rig.targets import Target
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, Travel, difference
from hingeline_calibration.travel import travel_slope_mm_per_deg

END_POINT_LIMIT_PERCENT = 150.0
"""What most transmitters allow: common practice, no source."""
CHORD_SD_MM = 0.3
"""How well a chord is measured with a ruler: common practice, no source."""
_UNDER_WAY = 0.3
"""A rest at less than this part of the target is still neutral, or a stick on its way."""


@dataclass(frozen=True)
class Position:
    """One commanded position of a surface: its mode, its command, and a target for each side."""

    mode: str
    command: str
    targets: dict[Side, Target]

    @property
    def name(self) -> str:
        """Words for it."""
        return f"{self.command} ({self.mode})"


@dataclass(frozen=True)
class ThrowReading:
    """One rest at a commanded position, judged side by side and left against right."""

    position: Position
    judgements: tuple[Judgement, ...]

    @property
    def inside(self) -> bool:
        """Whether every verdict is HOLD."""
        return all(judgement.inside for judgement in self.judgements)

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "mode": self.position.mode,
            "command": self.position.command,
            "judgements": [judgement.to_dict() for judgement in self.judgements],
            "inside": self.inside,
        }


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
    """

    def __init__(self, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], neutral: Rests) -> None:
        self.positions = tuple(_positions(sheet, surface))
        self._sides = sides
        self._neutral: dict[Side, Gravity] = {one.side: one.gravity(neutral) for one in sides}

    def deflections(self, rests: Rests) -> dict[Side, Deflection]:
        """Return each side's deflection from neutral. Raises `HingeVertical`."""
        return {one.side: one.deflection(self._neutral[one.side], one.gravity(rests)) for one in self._sides}

    def run(
        self, capture: Capture, ask: Callable[[Position], None], again: Callable[[Position], None]
    ) -> Iterator[ThrowReading]:
        """Yield the reading of each position; `ask` is called before it, `again` for a rest near neutral.

        Raises
        ------
        HingelineError
            See `Capture.rest`.
        HingeVertical
            Gravity says nothing about this hinge.
        """
        for position in self.positions:
            ask(position)
            while self.under_way(position, rests := capture.rest()):
                again(position)
            yield self.read(position, rests)

    def under_way(self, position: Position, rests: Rests) -> bool:
        """Whether a rest is too near neutral to be that position."""
        return all(
            abs(angle.deflection_deg) < _UNDER_WAY * abs(position.targets[side].deflection_deg)
            for side, angle in self.deflections(rests).items()
        )

    def read(self, position: Position, rests: Rests) -> ThrowReading:
        """Return the reading of a rest at a commanded position. Raises `HingeVertical`."""
        angles = self.deflections(rests)
        judgements = [_beside(position.targets[side], angle) for side, angle in angles.items()]
        if {"left", "right"} <= set(angles):
            judgements.append(_matched(position.targets["left"], angles["left"], angles["right"]))
        return ThrowReading(position, tuple(judgements))


def _positions(sheet: Sheet, surface: str) -> Iterator[Position]:
    for (mode, command), targets in groupby(sheet.targets(surface), key=lambda one: (one.mode, one.command)):
        yield Position(mode, command, {target.side: target for target in targets})


def _beside(target: Target, angle: Deflection) -> Judgement:
    """Judge one side in the unit that the manual gives its target in, inches as mm."""
    travel = (
        None if target.chord_mm is None else angle.travel(target.chord_mm, target.convention, CHORD_SD_MM)
    )
    if travel is None or target.travel_mm is None or target.unit == "deg":
        wanted, tolerance = target.deflection_deg, target.tolerance_deg
        verdict = judge_throw(angle.deflection_deg, wanted, tolerance)
    else:
        wanted, tolerance = target.travel_mm, _tolerance_mm(target, travel)
        verdict = judge_throw(travel.travel_mm, wanted, tolerance, "mm")
    return Judgement(target.side, angle, travel, wanted, tolerance, verdict, _advice(target, angle, verdict))


def _tolerance_mm(target: Target, travel: Travel) -> float:
    """Return the tolerance of a target in mm; one in degrees is worth what it moves the trailing edge there."""
    if target.tolerance_mm is not None or target.chord_mm is None:
        return target.tolerance_mm or 0.0
    slope = travel_slope_mm_per_deg(target.deflection_deg, target.chord_mm, travel.convention)
    return target.tolerance_deg * slope


def _matched(target: Target, left: Deflection, right: Deflection) -> Judgement:
    tolerance_deg = target.match_tolerance_deg
    verdict = judge_match(left.deflection_deg, right.deflection_deg, tolerance_deg, MOVED)
    return Judgement("left - right", difference(left, right), None, 0.0, tolerance_deg, verdict, Advice())


def _advice(target: Target, angle: Deflection, verdict: Verdict) -> Advice:
    if verdict.inside:
        return Advice()
    factor = target.deflection_deg / angle.deflection_deg
    if factor < 0:
        return Advice(
            "it moves the other way: check the direction of the stick, the servo's reverse, and that the arrow on "
            "the carrier points to the trailing edge"
        )
    percent = round(100 * factor)
    if percent > END_POINT_LIMIT_PERCENT:
        return Advice("more than an end point gives: one hole out on the arm, or one hole in on the horn")
    words = f"end point times {percent / 100:.2f}: where it was 100 %, set {percent} %"
    return Advice(words, (percent / 100 - 1) * angle.deflection_deg)
