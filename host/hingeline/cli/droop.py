"""`hingeline droop`: what a held surface does in a minute."""

from __future__ import annotations

from pathlib import Path

import click

from hingeline.cli.aircraft import CAUTION, replay_option, side_options, take_sides
from hingeline.cli.findings import conclude, limit_option, read_limit_deg
from hingeline.cli.screen import Screen, command, port_option

_TOLD_S = 15.0


@click.command()
@click.argument("rig", type=click.Path(path_type=Path))
@click.argument("surface")
@click.option(
    "--for", "for_s", type=click.FloatRange(10, 600), default=60.0, show_default=True, metavar="SECONDS"
)
@limit_option("0.5 deg", "0.3 deg")
@port_option
@side_options
@replay_option
@command
def droop(
    *,
    screen: Screen,
    rig: Path,
    surface: str,
    for_s: float,
    limit: str | None,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: str | None,
) -> int:
    """Hold SURFACE at full deflection for a minute: how far each side creeps, and left from right.

    Exit status 0 within the limit, 6 beyond.

    \b
    Example:
      hingeline droop lantern.rig.toml flap
    """
    from hingeline.checks.droop import DROOP_DEG, DroopCheck
    from hingeline.cli.visit import visit
    from hingeline.lines import Lines
    from hingeline.rig import load_sheet

    sheet, limit_deg = load_sheet(rig), read_limit_deg(limit, DROOP_DEG)
    sheet.surface(surface)
    with visit(screen, ports, sheet.aircraft, "droop", replay, surface=surface, for_s=for_s, **named) as here:
        screen.say(CAUTION)
        sides = take_sides(here, sheet, surface)
        lines = Lines(one.sensor_id for one in sides)
        capture = here.capture([one.sensor_id for one in sides], lines.saw)
        screen.say(f"{surface}: at neutral, hands off.")
        check = DroopCheck(sides, capture.rest(), limit_deg)
        screen.say(f"{surface}: full deflection, and leave it there.")
        while not check.held(start := capture.rest()):
            screen.say("Still near neutral: go all the way and leave it there.")
        lines.forget()
        left_s = here.choices["for_s"]
        while left_s > 0:
            screen.say(f"Holding: {left_s:.0f} s to go.")
            capture.listen(min(left_s, _TOLD_S))
            left_s -= _TOLD_S
        found = check.found(start, lines)
        here.record("droop", surface=surface, **found.to_dict())
    return conclude(screen, f"{surface}, held {here.choices['for_s']:.0f} s", found)
