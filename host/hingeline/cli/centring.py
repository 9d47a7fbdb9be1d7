"""`hingeline centring`: how well a surface comes back to neutral."""

from __future__ import annotations

from pathlib import Path

import click

from hingeline.cli.aircraft import CAUTION, replay_option, side_options, take_sides
from hingeline.cli.findings import conclude, limit_option, read_limit_deg
from hingeline.cli.screen import Screen, command, port_option


@click.command()
@click.argument("rig", type=click.Path(path_type=Path))
@click.argument("surface")
@click.option(
    "--times", type=click.IntRange(2, 20), default=5, show_default=True, help="Returns from each way."
)
@limit_option("by the sheet's profile, 0.2 or 0.5 deg", "0.3 deg")
@port_option
@side_options
@replay_option
@command
def centring(
    *,
    screen: Screen,
    rig: Path,
    surface: str,
    times: int,
    limit: str | None,
    ports: tuple[str, ...],
    replay: Path | None,
    **named: str | None,
) -> int:
    """Come to neutral from above five times and from below five times: how far apart SURFACE rests.

    The spread is how it repeats, the gap between both ways is hysteresis. Move the stick away, let it come back,
    leave it for a second. Exit status 0 within the limit, 6 beyond.

    \b
    Example:
      hingeline centring lantern.rig.toml elevator
    """
    from hingeline.checks.centring import CENTRING_DEG, WAYS, CentringCheck
    from hingeline.cli.visit import visit
    from hingeline.lines import Lines
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    sheet.surface(surface)
    limit_deg = read_limit_deg(limit, CENTRING_DEG[sheet.tolerances.profile])
    with visit(
        screen, ports, sheet.aircraft, "centring", replay, surface=surface, times=times, **named
    ) as here:
        screen.say(CAUTION)
        sides = take_sides(here, sheet, surface)
        lines = Lines(one.sensor_id for one in sides)
        capture = here.capture([one.sensor_id for one in sides], lines.saw)
        screen.say(f"{surface}: sticks centred, hands off.")
        check = CentringCheck(sides, capture.rest(), limit_deg)
        wanted, first = here.choices["times"], sides[0].side
        while check.least < wanted:
            above, below = (check.returns(first, way) for way in WAYS)
            screen.say(
                f"{surface}: {'up' if above <= below else 'down'} with the {first} side, let it come back, leave it; "
                f"{above} of {wanted} from above, {below} from below."
            )
            while not check.take(capture.rest(), lines):
                pass
            lines.forget()
        found = check.found()
        here.record("centring", surface=surface, **found.to_dict())
    return conclude(screen, f"{surface}, centring", found)
