"""`hingeline hinge`: find where the hinge runs in each sensor."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from hingeline.cli.aircraft import CAUTION, replay_option, side_options, take_sides
from hingeline.cli.completing import sheet_argument, surface_argument
from hingeline.cli.screen import Screen, command, port_option


@click.command()
@sheet_argument
@surface_argument()
@port_option
@side_options
@replay_option
@command
def hinge(
    *,
    screen: Screen,
    rig: Path,
    surface: str,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: Any,
) -> int:
    """Find the hinge line of SURFACE in its sensors, from a sweep.

    \b
    Example:
      hingeline hinge lantern.rig.toml flap

    Where their edges can't be laid along it: sweep the surface slowly over its whole travel and back, a few times:
    with the stick, or by hand with the linkage off. It tells how far each sensor's edge is off the hinge line.
    `hingeline neutral` and `hingeline throws` then measure about the hinge that was found, for the rest of this
    visit; after taping a sensor anew, find it again. Without this, the hinge runs along the carrier's edge.
    """
    from hingeline.checks.hinge import HingeCheck
    from hingeline.cli.visit import visit
    from hingeline.hinges import keep, place_of
    from hingeline.pipeline import sensors_of
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    sheet.surface(surface)
    with visit(screen, ports, sheet.aircraft, "hinge", replay, surface=surface, **named) as here:
        screen.say(CAUTION)
        sides = take_sides(here, sheet, surface, see=True)
        screen.say(f"{surface}: sticks centred, hands off.")
        check = HingeCheck(sides, here.capture(sensors_of(sides)).rest())
        capture = here.capture(sensors_of(sides), check.lines.saw)
        found = None
        while found is None:
            screen.say(
                f"{surface}: sweep it slowly over its whole travel and back, a few times; then let go."
            )
            capture.rest(all_moved=True)
            found = check.mountings()
        for one in found:
            here.record("hinge", surface=surface, **one.to_dict())
            keep(here.store, place_of(sheet.aircraft, surface, one.side), one, here.started)
    screen.data(
        "\n".join([f"{surface}, hinge: found and kept for this visit", *(f"  {one.text}" for one in found)]),
        surface=surface,
        mountings=[one.to_dict() for one in found],
    )
    return 0
