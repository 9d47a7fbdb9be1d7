"""Check every throw of SURFACE, or of all, against the sheet.

\b
Examples:
  hingeline throws lantern.rig.toml
  hingeline throws lantern.rig.toml elevator --json
  hingeline throws lantern.rig.toml --hold 1.5 --page-on 192.168.1.20

Hold the stick still at each position it asks for; stillness takes the reading. Turn the end point while you hold it: it
is read again. After all positions of a mode the surface must return to neutral. If it comes back off neutral, the
throws before are less certain, and it asks again for those too uncertain. Advice counts settings from 100 %, or from
`--now`. Exit status 0 when everything is within the tolerance you set, 6 when something is not, or was left out.
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
    "How often it goes through the positions of each mode: from 2 on it shows how well they repeat.",
    unit="N",
)
@click.option(
    "--now",
    metavar="SETTINGS",
    help="Present settings of the transmitter, such as `flap left end point up=93, aileron low rate=60`; kept "
    "for the session. Default: 100 %.",
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
