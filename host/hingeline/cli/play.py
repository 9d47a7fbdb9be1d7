"""`hingeline play`: how loose a surface is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.aircraft import CAUTION, replay_option, side_options, take_sides
from hingeline.cli.findings import conclude, limit_option, read_limit
from hingeline.cli.screen import Screen, command, port_option

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
@click.argument("rig", type=click.Path(path_type=Path))
@click.argument("surface")
@click.option(
    "--cycles", type=click.IntRange(1, 20), default=5, show_default=True, help="Up and down so often."
)
@limit_option("by the sheet's profile, 0.5 or 1 mm", "0.5 mm")
@port_option
@side_options
@replay_option
@command
def play(
    *,
    screen: Screen,
    rig: Path,
    surface: str,
    cycles: int,
    limit: str | None,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: str | None,
) -> int:
    """Find the play of SURFACE: light finger pressure up, let go, down, let go, five times on each side.

    Servo powered, sticks centred. Stillness takes each rest. The rests after letting go tell play and friction; the
    pushed ones add what bends. Exit status 0 within the limit, 6 beyond.

    \b
    Examples:
      hingeline play lantern.rig.toml flap
      hingeline play lantern.rig.toml elevator --limit "0.4 deg"
    """
    from hingeline.checks.finding import joined
    from hingeline.cli.visit import visit
    from hingeline.rig import load_sheet

    sheet, accepted = load_sheet(rig), read_limit(limit)
    sheet.surface(surface)
    with visit(
        screen, ports, sheet.aircraft, "play", replay, surface=surface, cycles=cycles, **named
    ) as here:
        screen.say(CAUTION)
        sides = take_sides(here, sheet, surface)
        found = joined(_side(here, sheet, surface, one, accepted) for one in sides)
        here.record("play", surface=surface, **found.to_dict())
    return conclude(screen, f"{surface}, play", found)


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
            here.screen.say(f"{place}: nothing moved while it was to be pushed.")
            break
    return check.found()
