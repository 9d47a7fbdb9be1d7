"""`hingeline sweep`: left against right over the whole travel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.findings import examine, one_by_one, surface_command
from hingeline.cli.screen import Screen

if TYPE_CHECKING:
    from hingeline.checks.results import CheckResult
    from hingeline.checks.sweep import SweepCheck
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Capture, Readings
    from hingeline.measure.pipeline import Instrument
    from hingeline.measure.tracks import Lines
    from hingeline.rig.sheet import Sheet

_STROKE_S = 60.0
"""So long may each stroke take that is still to be done, and is waited for: common practice, no source."""
_WAYS = {"none": (), "one-way": ("one way",), "both-ways": ("one way", "the other way")}


@click.command()
@click.option(
    "--sweeps",
    type=click.IntRange(1, 20),
    default=2,
    show_default=True,
    metavar="N",
    help="From end to end and back.",
)
@click.option(
    "--points",
    type=click.Choice(list(_WAYS)),
    default="none",
    show_default=True,
    help="Hold half and full stick first, expo off: half stick is half the way?",
)
@surface_command
def sweep(*, screen: Screen, sweeps: int, points: str, **common: Any) -> int:
    """Sweep SURFACE from end to end: left against right all along, both ways.

    \b
    Examples:
      hingeline sweep lantern.rig.toml aileron
      hingeline sweep lantern.rig.toml elevator --points both-ways

    Slowly. No stick signal is needed. Some ten seconds each way; what moves too fast is left out. Also told:
    hysteresis of one side against the other, and a side that stands at its end while the other goes on. Exit status
    0 within the sheet's tolerance for left against right, 6 beyond.
    """
    return examine(screen, "sweep", _measure, sweeps=sweeps, points=points, **common)


def _measure(here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...]) -> CheckResult:
    from hingeline.checks.centring import CENTRING_DEG
    from hingeline.checks.limits import joined
    from hingeline.checks.moment import passing
    from hingeline.checks.points import PointsCheck
    from hingeline.checks.sweep import SweepCheck
    from hingeline.measure.tracks import Lines

    ids = [one.sensor_id for one in sides]
    lines = Lines(ids)
    capture = here.capture(ids, lines.saw)
    here.ask(f"{surface}: sticks centred, hands off.")
    neutral = capture.rest()
    here.stage.took()
    here.stage.judging(passing(sheet, surface, sides, neutral))
    parts = []
    if ways := _WAYS[here.choices["points"]]:
        check = PointsCheck(sides, neutral, CENTRING_DEG[sheet.tolerances.profile])
        parts.append(check.result({way: _points(here, surface, capture, way) for way in ways}))
    parts.append(_swept(here, surface, SweepCheck(sheet, surface, sides, neutral), capture, lines))
    return joined(parts)


def _points(here: Visit, surface: str, capture: Capture, way: str) -> list[Readings]:
    from hingeline.checks.points import POINTS

    def ask(number: int) -> Readings:
        here.ask(f"{surface}, {way}: {POINTS[number]}, and hold.")
        return capture.rest(all_moved=True)

    return one_by_one(here, ask, len(POINTS))


def _swept(here: Visit, surface: str, check: SweepCheck, capture: Capture, lines: Lines) -> CheckResult:
    from hingeline.measure.capture import PATIENCE_S, TakenBack

    wanted, strokes, is_back = 2 * here.choices["sweeps"], 0, False
    here.takes_standing = False
    lines.forget()
    while strokes < wanted or not is_back:
        done = f"{strokes} of {wanted} strokes done" if strokes else f"{wanted} strokes"
        here.ask(f"{surface}: sweep slowly from end to end, {done}; then back to neutral, hands off.")
        here.takes_back = ["the sweep, which begins anew"] if strokes else []
        try:
            back = capture.rest(patience_s=PATIENCE_S + _STROKE_S * max(wanted - strokes, 0))
        except TakenBack:
            lines.forget()
            strokes = 0
        else:
            strokes = check.strokes(lines)
            is_back = capture.confirmed or check.is_back(lines, back)
    here.stage.took()
    return check.result(lines, back)
