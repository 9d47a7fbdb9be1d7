"""A slow sweep of the whole travel: tracking, hysteresis between the sides, a side that stops before the other."""

from __future__ import annotations

from collections.abc import Iterator
from statistics import NormalDist

import numpy as np

from hingeline.checks import values
from hingeline.checks.centring import CENTRING_DEG
from hingeline.checks.hinge import back_text, doubt_of_seat
from hingeline.checks.limits import beside_limit, match_limit_deg, of_angle
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.checks.sweep_strokes import AT_END_DEG, SMOOTH_S, Pair, strokes
from hingeline.checks.tracking import Step, steps
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.tracks import Floats, Tracks, smoothed
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.hinge import Deflection

PLATEAU_DEG = 1.0
"""One side may go this far while the other stays at its end; less may be noise."""
_BEFORE = 2
"""The pace of the sides is that over so many times `AT_END_DEG` before: over the whole travel differential hides it."""
FAST_PERCENT = 20.0
"""If more lines than this are left out, the message asks the person to go slower."""
_ZONE = 0.2
"""A stroke goes from this part of the range at one end to the same at the other."""
_LEAST_RANGE_DEG = 4.0
_BACK, _BACK_DEG = 0.3, 1.0
"""A rest at less than this part of the way to an end, or so near, is back at neutral; common practice, no source."""
TRACKING = (
    "horn holes at different distances from the hinge line, or one aft of it",
    "arms that are not square to the pushrod at neutral on both sides",
    "different arm lengths made up for by end points",
    "binding on one side",
)
HYSTERESIS = ("play on one side: `hingeline play` tells", "friction in one hinge or pushrod")
PLATEAU = (
    "a servo at its stop before the stick's end: lower the end point, lengthen the arm",
    "a surface or linkage that binds or touches",
)


class SweepCheck:
    """A sweep of one surface of a rigging sheet, from its neutral."""

    def __init__(self, sheet: Sheet, surface: str, neutral: NeutralReading) -> None:
        self._neutral, self._first = neutral, neutral.instruments[0]
        self._match_deg = match_limit_deg(sheet, surface)
        self._hysteresis_deg = CENTRING_DEG[sheet.tolerances.profile]

    def strokes(self, tracks: Tracks) -> int:
        """Count how often the first side has gone from one end to the other."""
        if not self._neutral.has_tracks(tracks):
            return 0
        place = self._course_deg(tracks)
        low, high = float(place.min()), float(place.max())
        if high - low < _LEAST_RANGE_DEG:
            return 0
        margin = _ZONE * (high - low)
        ends = np.where(place < low + margin, -1, np.where(place > high - margin, 1, 0))
        visited = ends[ends != 0]
        return int(np.count_nonzero(np.diff(visited)))

    def is_back(self, tracks: Tracks, back: Readings) -> bool:
        """Whether a rest of the first side is at neutral rather than at an end of its travel or on its way."""
        place = self._course_deg(tracks)
        off_deg = self._neutral.deflections(back)[self._first.side].deflection_deg
        end_deg = float(place.max() if off_deg > 0 else place.min())
        return abs(off_deg) <= max(_BACK * abs(end_deg), _BACK_DEG)

    def _course_deg(self, tracks: Tracks) -> Floats:
        """Where the first side was, in degrees from neutral, sample by sample."""
        course = self._neutral.track(self._first, tracks)
        return smoothed(course.deflection_deg, course.time_s, SMOOTH_S)

    def result(self, tracks: Tracks, back: Readings) -> CheckResult:
        """Judge the sweep, which ended with the reading `back` at neutral.

        Raises `HingeVertical`, and `NotMeasurable` where it was too fast or too short.
        """
        tracked = {each.side: self._neutral.track(each, tracks) for each in self._neutral.instruments}
        left_out = 100 * (1 - float(np.mean([course.steady.mean() for course in tracked.values()])))
        notes = self._back_texts(back)
        if left_out > FAST_PERCENT:
            notes.append(f"{left_out:.0f} % of the lines were too fast and left out: sweep more slowly.")
        if not {"left", "right"} <= set(tracked):
            notes.append("One side alone: nothing to track against.")
            return CheckResult.of("sweep", (), notes=tuple(notes), left_out_percent=left_out)
        pair = Pair(tracked["left"], tracked["right"])
        along = steps(pair)
        return CheckResult.of(
            "sweep",
            [self._tracking(along), *self._hysteresis(along), *_plateaus(pair)],
            notes=tuple(notes),
            left_out_percent=left_out,
            opposed=pair.opposed,
            travel_deg={
                side: (float(places.min()), float(places.max()))
                for side, places in zip(BOTH, pair.places_deg, strict=True)
            },
            steps=tuple(
                values.Step(position_deg, way, apart.deflection_deg, apart.standard_uncertainty_deg, lines)
                for position_deg, way, apart, lines in along
            ),
        )

    def _back_texts(self, back: Readings) -> list[str]:
        """For each side that came back to neutral wrong, what is to be said of it."""
        texts, angles = [], self._neutral.deflections(back)
        for instrument in self._neutral.instruments:
            side = instrument.side
            doubt = doubt_of_seat(instrument, self._neutral.gravity[side], instrument.gravity(back))
            if text := doubt.text if doubt else back_text(side, angles[side], self._hysteresis_deg):
                texts.append(f"{side}: {text}.")
        return texts

    def _tracking(self, along: tuple[Step, ...]) -> LimitResult:
        worst = max(along, key=lambda step: abs(step.apart.deflection_deg) - step.apart.standard_uncertainty_deg)
        name = f"tracking, left - right at {worst.position_deg:+.1f}° {worst.way}"
        budget = worst.apart.budget.scaled(_of_worst(len(along)))
        return of_angle(name, Deflection(worst.apart.deflection_deg, budget), self._match_deg, TRACKING)

    def _hysteresis(self, along: tuple[Step, ...]) -> tuple[LimitResult, ...]:
        """Hysteresis of one side against the other: the median gap between rising and falling."""
        falling = {step.position_deg: step.apart for step in along if step.way == "falling"}
        gaps = [
            step.apart.deflection_deg - falling[step.position_deg].deflection_deg
            for step in along
            if step.way == "rising" and step.position_deg in falling
        ]
        if len(gaps) < 2:
            return ()
        # the standard error of a median is 1.25 times that of a mean: Kendall & Stuart, vol. 1; from memory
        deviation_deg = 1.25 * float(np.std(gaps, ddof=1)) / len(gaps) ** 0.5
        gap = Deflection(float(np.median(gaps)), Budget.of([("repeatability", deviation_deg)]))
        return (of_angle("hysteresis, left against right", gap, self._hysteresis_deg, HYSTERESIS),)


def _of_worst(count: int) -> float:
    """How many times wider an interval must be to hold with 95 % for all of `count` values, so for the worst, too.

    Z. Šidák, Journal of the American Statistical Association 62 (1967) 626, for independent Gaussian values.
    """
    return NormalDist().inv_cdf((1 + 0.95 ** (1 / count)) / 2) / COVERAGE_FACTOR


def _plateaus(pair: Pair) -> list[LimitResult]:
    """For each side, how far the other went on while it stood at an end of its travel, at the worse end."""
    left, right = pair.places_deg
    gone = (
        (f"{side} stops before {other}", max([0.0, *_gone_deg(mine, theirs, pair.time_s)]))
        for side, other, mine, theirs in (("left", "right", left, right), ("right", "left", right, left))
    )
    return [beside_limit(name, gone_deg, AT_END_DEG / 2, PLATEAU_DEG, PLATEAU) for name, gone_deg in gone]


def _gone_deg(mine: Floats, theirs: Floats, time_s: Floats) -> Iterator[float]:
    """Yield how far the other side went on while one was near its end, beyond its pace just before.

    That is told where a stroke ends: where it begins, play that is taken up makes a side stand, too.
    """
    for stroke in strokes(theirs, time_s):
        during = (time_s >= stroke.time_s[0]) & (time_s <= stroke.time_s[-1])
        course = mine[during]
        off = np.abs(course - (mine.max() if course[-1] > course[0] else mine.min()))
        if off.min() < AT_END_DEG:
            near_deg, with_before_deg = (
                float(np.ptp(theirs[during][off < part * AT_END_DEG])) for part in (1, 1 + _BEFORE)
            )
            yield near_deg - (with_before_deg - near_deg) / _BEFORE
