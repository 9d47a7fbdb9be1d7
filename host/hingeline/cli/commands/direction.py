"""Check which way SURFACE, or every surface, goes with its stick.

\b
Example:
  hingeline direction lantern.rig.toml aileron

Say each direction aloud. Stand behind the model. This does not replace the pilot's check. Exit status 0 when everything
goes the right way, 6 when something does not.
"""

from hingeline.cli.commands import FAULTS
from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen

PILOT = (
    "This replaces no pilot's check: before each flight stand behind the model, move each stick and say aloud which "
    "way the surfaces go."
)


@measuring(section=FAULTS, surface_required=False)
def direction(screen: Screen, target: Target) -> int:
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_run
    from hingeline.procedures.direction import check_direction

    with open_run(screen, target) as (runner, sheet):
        names = [target.surface] if target.surface else list(sheet.surfaces)
        surfaces = {name: check_direction(runner, sheet, name, names) for name in names}
    inside = all(reading.inside for readings in surfaces.values() for reading in readings)
    return screen.verdict(PILOT, surfaces=write_result(surfaces), note=PILOT, inside=inside)
