"""Check every throw of SURFACE, or of all, against the sheet.

\b
Examples:
  hingeline throws lantern.rig.toml
  hingeline throws lantern.rig.toml elevator --json

Hold the stick still at each position it asks for; stillness takes the reading. Turn the end point while you hold it: it
is read again. After all positions of a mode the surface must return to neutral. If it comes back off neutral, the
throws before are less certain; it may ask again. Exit status 6 when something is outside the tolerance, or
was left out.
"""

import click

from hingeline.cli.command import setting
from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen


@measuring(fixed=True, surface_required=False)
@setting(
    "--cycles",
    click.IntRange(1, 20),
    1,
    "Rounds of each mode; from 2 on they show how well throws repeat.",
    unit="N",
)
@click.option(
    "--now",
    metavar="SETTINGS",
    help="Settings as they stand, such as `flap left end point up=93, aileron low rate=60`; all else 100 %.",
)
def throws(screen: Screen, target: Target) -> int:
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_run
    from hingeline.procedures.surface_throws import check_throws

    with open_run(screen, target) as (runner, sheet):
        names = [target.surface] if target.surface else [name for name in sheet.surfaces if sheet.targets(name)]
        surfaces = {name: check_throws(runner, sheet, name, names) for name in names}
    inside = all(surface.inside for surface in surfaces.values())
    return screen.verdict(
        "\n".join(text for surface in surfaces.values() if (text := surface.text())),
        surfaces=write_result({name: surface.readings for name, surface in surfaces.items()}),
        left_out=write_result({name: surface.left_out for name, surface in surfaces.items()}),
        summaries=write_result({name: surface.summary for name, surface in surfaces.items()}),
        settings=write_result({name: surface.settings for name, surface in surfaces.items()}),
        hinges=write_result({name: surface.hinges for name, surface in surfaces.items()}),
        inside=inside,
    )
