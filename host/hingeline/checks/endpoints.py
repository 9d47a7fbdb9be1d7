"""The advice on a throw: what to set at the end point, from the gain between neutral and the reading."""

from __future__ import annotations

from hingeline.advice import Advice
from hingeline.advice.endpoint import Gain, Reading, advise_setting
from hingeline.advice.verdict import Verdict, edge
from hingeline.errors import NotMeasurable, UsageProblem
from hingeline_calibration.hinge import Deflection

LIMIT_PERCENT = 150.0
"""What most transmitters allow as an end point: common practice, no source."""
NOW_PERCENT = 100.0
"""End points are told as if they stood at this."""
OTHER_WAY = (
    "It moves the other way. Was it what was asked for (`b` takes the reading back)? Check its direction, and that the "
    "arrow points to the trailing edge; only if all is right, {reverse}, then measure again"
)
BOTH_OTHER_WAY = (
    "Both sides move the other way. Are left and right sensors swapped? `hingeline wiggle` tells. If not, check the "
    "stick's direction, and that the arrows point to the trailing edge; only if all is right, {reverse}, then measure "
    "again"
)
ONE_OTHER_WAY = "the other side moves the other way: see to that first"
STANDS = "It did not move: check its plug, its clevis and its channel, then measure again"
REVERSE = {
    "": "reverse the servo in the transmitter",
    "mixed": "turn the sign of this function round in the mix, or, where its other function goes the wrong way too, "
    "reverse the servo",
    "preset": "turn its sign round in the mix",
}
"""What turns a throw round: of a surface with one function, of one with two, and in a preset."""


def advise_throw(angle: Deflection, wanted_deg: float, verdict: Verdict, *, mix: str) -> Advice:
    """Advise what brings a throw where it is wanted; nothing inside the tolerance.

    Of a preset, which has its own mix, the movement alone; `mix` names it.
    """
    gap_deg = wanted_deg - angle.deflection_deg
    if verdict.inside:
        return Advice()
    if mix:
        return Advice(f"in the {mix} mix: {edge(gap_deg)}", gap_deg)
    now = Reading(NOW_PERCENT, angle.deflection_deg, angle.standard_uncertainty_deg)
    try:
        step = advise_setting(
            "end point",
            now,
            Gain(Reading(0.0, 0.0, 0.0), now),
            target_deg=wanted_deg,
            tolerance_deg=0.0,
            limit_percent=LIMIT_PERCENT,
        )
    except UsageProblem:
        return Advice(OTHER_WAY.format(reverse=REVERSE[""]))
    except NotMeasurable as problem:
        return Advice(str(problem))
    return Advice(step.text(), step.moves_deg, step.new_percent)
