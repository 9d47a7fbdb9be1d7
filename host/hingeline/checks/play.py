"""Play: where a surface rests after a light push each way, and how far it gives while it is pushed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from hingeline.checks.limits import limit_deg, of_angle, of_travel, repeating
from hingeline.checks.results import CheckResult
from hingeline.checks.values import Numbers
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import travel_of
from hingeline.rig.quantities import Measure
from hingeline.rig.sheet import Sheet
from hingeline.rig.tolerances import ProfileName
from hingeline_calibration.gravity import mean_gravity

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


def judge_play(
    sheet: Sheet, surface: str, neutral: NeutralReading, taken: Sequence[Readings], limit: Measure | None = None
) -> CheckResult:
    """Judge the play of one side, `neutral` of its one instrument, from readings taken in whole cycles of `STEPS`.

    The limit is what is acceptable; None for what is common in the sheet's profile. Raises `HingeVertical`.
    """
    (instrument,) = neutral.instruments
    side = instrument.side
    gravities = {step: [instrument.gravity(each) for each in taken[n :: len(STEPS)]] for n, step in enumerate(STEPS)}
    rests_deg: dict[str, Numbers] = {
        step: tuple(instrument.deflection(neutral.gravity[side], each).deflection_deg for each in of_step)
        for step, of_step in gravities.items()
    }
    pushed_up, let_go_above, pushed_down, let_go_below = (mean_gravity(gravities[step]) for step in STEPS)
    released = [rests_deg[step] for step in ("let go from above", "let go from below")]
    pushed = instrument.deflection(pushed_down, pushed_up)
    play = repeating(instrument.deflection(let_go_below, let_go_above), *released)
    range_deg = max(map(max, released)) - min(map(min, released))
    notes = [
        f"{side}: moves {pushed.deflection_deg:.2f}° in all (play plus flex).",
        f"{side}: came to rest within {range_deg:.2f}° after each release.",
    ]
    if abs(pushed.deflection_deg) > _HIDDEN * abs(play.deflection_deg):
        notes.append(f"{side}: a surface that falls back by its own weight hides its play: go by the full movement.")
    limit, given = limit or PLAY[sheet.tolerances.profile], sheet.surface(surface)
    if limit.linear and given.chord_mm is not None:
        travel = travel_of(play, given.chord_mm, sheet.convention_of(given), given.chord_accuracy_mm)
        result = of_travel(f"{side}, play", travel, limit.mm, CANDIDATES)
    else:
        result = of_angle(f"{side}, play", play, limit_deg(limit, given.chord_mm, CHORD_MM), CANDIDATES)
    return CheckResult.of("play", [result], notes=tuple(notes), rests_deg={side: rests_deg})
