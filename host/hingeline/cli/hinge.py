"""`hingeline hinge`: find where the hinge runs in each sensor."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from hingeline.cli.aircraft import CAUTION, replay_option, side_options, take_sides
from hingeline.cli.completing import sheet_argument, surface_argument
from hingeline.cli.live import LiveOptions, live_options
from hingeline.cli.screen import Screen, command, port_option


@click.command()
@sheet_argument
@surface_argument()
@port_option
@side_options
@replay_option
@live_options
@command
def hinge(
    *,
    screen: Screen,
    live: LiveOptions,
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
    session; after taping a sensor anew, find it again. Without this, the hinge runs along the carrier's edge.
    """
    from dataclasses import replace

    from hingeline.checks.hinge import HingeCheck, hinge_text
    from hingeline.checks.moment import passing
    from hingeline.checks.results import write_result
    from hingeline.cli.opening import visit
    from hingeline.measure.pipeline import sensors_of
    from hingeline.rig import load_sheet
    from hingeline.storage.hinges import place_of, save_hinge

    sheet = load_sheet(rig)
    sheet.surface(surface)
    with visit(
        screen, ports, sheet.aircraft, "hinge", replay, sheet=sheet, live=live, surface=surface, **named
    ) as here:
        screen.say(CAUTION)
        sides = take_sides(here, sheet, surface, see=True)
        here.ask(f"{surface}: sticks centred, hands off.")
        neutral = here.capture(sensors_of(sides)).rest()
        here.stage.took()
        check = HingeCheck(sides, neutral)
        capture = here.capture(sensors_of(sides), check.lines.saw)
        here.stage.judging(passing(sheet, surface, sides, neutral))
        here.ask(f"{surface}: sweep it slowly over its whole travel and back, twice; then let go.")
        capture.rest(all_moved=True)
        while (found := check.results()) is None:
            here.ask(f"{surface}: not yet known well enough; sweep it further and more slowly, then let go.")
            capture.rest(all_moved=True)
        here.stage.took()
        kept = True
        for one in found:
            here.record_result(replace(one, surface=surface))
            place = place_of(sheet.aircraft, surface, one.side)
            kept = (
                here.keep(partial(save_hinge, here.store, place, one.sensor_id, one.axis, here.started))
                and kept
            )
    said = " and kept for this session" if kept else ", and not kept"
    screen.data(
        "\n".join([f"{surface}, hinge: found{said}", *(f"  {hinge_text(one)}" for one in found)]),
        surface=surface,
        hinges=write_result([replace(one, surface=surface) for one in found]),
    )
    return 0
