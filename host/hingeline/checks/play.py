"""Play: where a surface rests after a light push each way, and how far it gives while it is pushed."""

from __future__ import annotations

from collections import defaultdict
from typing import Literal

from hingeline.checks.limits import (
    limit_deg,
    of_angle,
    of_travel,
    spread_of_mean,
)
from hingeline.checks.results import CheckResult, LimitResult
from hingeline.measure.pipeline import Instrument
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Sheet
from hingeline.rig.tolerances import ProfileName
from hingeline_calibration.gravity import Gravity, mean_gravity
from hingeline_calibration.hinge import Deflection

Step = Literal["pushed up", "let go from above", "pushed down", "let go from below"]
STEPS: tuple[Step, ...] = ("pushed up", "let go from above", "pushed down", "let go from below")
"""One cycle, in its order."""
PLAY: dict[ProfileName, Measure] = {
    "sport": Measure(1.0, "mm"),
    "glider": Measure(0.5, "mm"),
    "pattern": Measure(0.5, "mm"),
    "jet": Measure(0.5, "mm"),
    "3d": Measure(1.0, "mm"),
}
"""At the trailing edge: the wide end of what is common; common practice, no source."""
CHORD_MM = 50.0
"""A limit in mm of a surface without a chord is taken at this one."""
_HIDDEN = 3.0
CANDIDATES = (
    "a worn clevis pin, or a hole too large for it in horn or arm",
    "worn servo gears, or an arm loose on its spline",
    "a loose hinge",
    "a horn that works in the skin",
)


class PlayCheck:
    """The play of one side of a surface, from rests of each step.

    Parameters
    ----------
    sheet, surface
        The rigging sheet and the name of one of its surfaces.
    instrument
        The instrument on that side.
    neutral
        Its gravity with hands off, at the start.
    limit
        What is acceptable; None for what is common in the sheet's profile.
    """

    def __init__(
        self,
        sheet: Sheet,
        surface: str,
        instrument: Instrument,
        neutral: Gravity,
        limit: Measure | None = None,
    ) -> None:
        self._surface = surface
        self._instrument = instrument
        self._neutral = neutral
        self._limit = limit or PLAY[sheet.tolerances.profile]
        self._chord_mm = sheet.surface(surface).chord_mm
        self._convention = sheet.surface(surface).convention or sheet.convention
        self._taken: dict[Step, list[Gravity]] = defaultdict(list)

    def take(self, step: Step, gravity: Gravity) -> None:
        """Take the reading of a step."""
        self._taken[step].append(gravity)

    def result(self) -> CheckResult:
        """Judge the play. Every step must have been taken.

        Raises
        ------
        HingeVertical
            Gravity says nothing about this hinge.
        """
        readings = {
            step: [self._instrument.deflection(self._neutral, gravity).deflection_deg for gravity in self._taken[step]]
            for step in STEPS
        }
        released = [*readings["let go from above"], *readings["let go from below"]]
        pushed = self._between("pushed down", "pushed up")
        side, range_deg = self._instrument.side, max(released) - min(released)
        notes = [
            f"{side}: moves {pushed.deflection_deg:.2f}° in all (play plus flex).",
            f"{side}: came to rest within {range_deg:.2f}° after each release.",
        ]
        play = self._between("let go from below", "let go from above")
        if abs(pushed.deflection_deg) > _HIDDEN * abs(play.deflection_deg):
            notes.append(
                f"{side}: a surface that falls back by its own weight hides its play: go by the full movement."
            )
        result = self._beside_limit(play, readings)
        return CheckResult(
            self._surface,
            "play",
            (result,),
            tuple(notes),
            result.inside,
            rests_deg={side: {step: tuple(readings[step]) for step in STEPS}},
        )

    def _between(self, low: Step, high: Step) -> Deflection:
        """The turn from the mean reading of one step to that of another."""
        return self._instrument.deflection(mean_gravity(self._taken[low]), mean_gravity(self._taken[high]))

    def _beside_limit(self, play: Deflection, readings: dict[Step, list[float]]) -> LimitResult:
        name = f"{self._instrument.side}, play"
        spread_deg = spread_of_mean(readings["let go from above"], readings["let go from below"])
        if self._limit.linear and self._chord_mm is not None:
            return of_travel(
                name,
                play,
                chord_mm=self._chord_mm,
                convention=self._convention,
                limit_mm=self._limit.mm,
                candidates=CANDIDATES,
                spread_deg=spread_deg,
            )
        return of_angle(name, play, limit_deg(self._limit, self._chord_mm, CHORD_MM), CANDIDATES, spread_deg)
