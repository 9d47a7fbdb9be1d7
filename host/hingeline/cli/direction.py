"""`hingeline direction`: which way every surface goes."""

from __future__ import annotations

import click

from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen
from hingeline.errors import OutOfTolerance

PILOT = (
    "This replaces no pilot's check: before each flight stand behind the model, move each stick and say aloud which "
    "way the surfaces go."
)


@click.command()
@measuring(surface_required=False)
def direction(*, screen: Screen, target: Target, **_: object) -> int:
    """Check which way SURFACE, or every surface, goes with its stick.

    \b
    Example:
      hingeline direction lantern.rig.toml aileron

    Say each direction aloud. Stand behind the model. It replaces no pilot's check. Exit status 0 when everything
    goes the right way, 6 when something does not.
    """
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_run
    from hingeline.procedures.direction import check_direction

    with open_run(screen, "direction", target) as (runner, sheet):
        names = [target.surface] if target.surface else list(sheet.surfaces)
        surfaces = {name: check_direction(runner, sheet, name, names) for name in names}
    inside = all(reading.inside for readings in surfaces.values() for reading in readings)
    screen.data(
        PILOT,
        surfaces=write_result(surfaces),
        note=PILOT,
        inside=inside,
    )
    return 0 if inside else OutOfTolerance.exit_status
