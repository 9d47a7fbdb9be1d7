"""`hingeline droop`: what a held surface does in a minute."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.findings import examine, limit_option, read_limit_deg, surface_command
from hingeline.cli.screen import Number, Screen

if TYPE_CHECKING:
    from hingeline.checks.results import CheckResult
    from hingeline.cli.visit import Visit
    from hingeline.measure.pipeline import Instrument
    from hingeline.rig.sheet import Sheet

_TOLD_S = 15.0


@click.command()
@click.option(
    "--for",
    "for_s",
    type=Number(10, 600),
    default=60.0,
    show_default=True,
    metavar="SECONDS",
    help="How long it is held.",
)
@limit_option("0.5 deg", "0.3 deg")
@surface_command
def droop(*, screen: Screen, for_s: float, limit: str | None, **common: Any) -> int:
    """Hold SURFACE at full deflection for a minute: how far each side creeps.

    \b
    Example:
      hingeline droop lantern.rig.toml flap

    Left from right is told too. Exit status 0 within the limit, 6 beyond.
    """
    measure = partial(_measure, limit_deg=read_limit_deg(limit))
    return examine(screen, "droop", measure, for_s=for_s, **common)


def _measure(
    here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], limit_deg: float | None
) -> CheckResult:
    from hingeline.checks.droop import DROOP_DEG, DroopCheck
    from hingeline.checks.moment import passing
    from hingeline.measure.tracks import Lines

    ids = [one.sensor_id for one in sides]
    lines = Lines(ids)
    capture = here.capture(ids, lines.saw)
    here.ask(f"{surface}: at neutral, hands off.")
    neutral = capture.rest()
    here.stage.took()
    here.stage.judging(passing(sheet, surface, sides, neutral))
    check = DroopCheck(sides, neutral, limit_deg or DROOP_DEG)
    here.ask(f"{surface}: full deflection, and leave it there.")
    while not check.held(start := capture.rest()):
        here.screen.say("Still near neutral: go all the way and leave it there.")
    here.stage.took()
    lines.forget()
    left_s = here.choices["for_s"]
    said_s = math.inf
    while left_s > 0:
        due = said_s - left_s >= _TOLD_S
        said_s = left_s if due else said_s
        (here.ask if due else here.stage.ask)(f"{surface}: holding, {left_s:.0f} s to go.")
        capture.listen(min(left_s, 1.0))
        left_s -= 1.0
    return check.result(start, lines)
