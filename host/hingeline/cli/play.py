"""`hingeline play`: how loose a surface is."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.findings import examine, limit_option, read_limit, surface_command
from hingeline.cli.screen import Screen

if TYPE_CHECKING:
    from hingeline.checks.finding import Found
    from hingeline.cli.visit import Visit
    from hingeline.pipeline import Instrument
    from hingeline.rig.quantities import Measure
    from hingeline.rig.sheet import Sheet

STANDING_S = 10.0
"""What has not moved for so long after it was to be pushed does not move."""
_WORDS = {
    "pushed up": "push its trailing edge up with one finger, lightly, and hold",
    "let go from above": "let go",
    "pushed down": "push it down, lightly, and hold",
    "let go from below": "let go",
}


@click.command()
@click.option(
    "--cycles", type=click.IntRange(1, 20), default=5, show_default=True, help="Up and down so often."
)
@limit_option("by the sheet's profile, 0.5 or 1 mm", "0.5 mm")
@surface_command
def play(*, screen: Screen, cycles: int, limit: str | None, **common: Any) -> int:
    """Find the play of SURFACE by pushing it with a finger.

    \b
    Examples:
      hingeline play lantern.rig.toml flap
      hingeline play lantern.rig.toml elevator --limit "0.4 deg"

    Lightly up, let go, down, let go, five times on each side. Servo powered, sticks centred. Stillness takes each
    rest. The rests after letting go tell play and friction; the pushed ones add what bends. Exit status 0 within
    the limit, 6 beyond.
    """
    return examine(screen, "play", partial(_measure, limit=read_limit(limit)), cycles=cycles, **common)


def _measure(
    here: Visit, sheet: Sheet, surface: str, sides: tuple[Instrument, ...], limit: Measure | None
) -> Found:
    from hingeline.checks.finding import joined

    return joined(_side(here, sheet, surface, one, limit) for one in sides)


def _side(here: Visit, sheet: Sheet, surface: str, one: Instrument, limit: Measure | None) -> Found:
    from hingeline.checks.play import STEPS, PlayCheck

    place = f"{surface} {one.side}"
    capture = here.capture([one.sensor_id])
    here.screen.say(f"{place}: servo powered, sticks centred, hands off.")
    rests = capture.rest()
    check = PlayCheck(sheet, surface, one, one.at_neutral(rests), limit)
    for cycle in range(1, here.choices["cycles"] + 1):
        moved = [False]
        for step in STEPS:
            if step.startswith("pushed") or moved[-1]:
                before = rests[one.sensor_id].start_s
                here.screen.say(f"{place}, {cycle}: {_WORDS[step]}.")
                rests = capture.rest(standing_s=STANDING_S)
                moved.append(rests[one.sensor_id].start_s != before)
            check.take(step, one.gravity(rests))
        if not any(moved):
            note = f"{one.side}: nothing moved while it was to be pushed; was it this side that you pushed?"
            found = check.found()
            return replace(found, notes=(note, *found.notes))
    return check.found()
