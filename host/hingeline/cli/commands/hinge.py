"""Find the hinge line of SURFACE in its sensors, from a sweep.

\b
Example:
  hingeline hinge lantern.rig.toml flap

Make one slow stroke over the whole travel and back, with the stick, or by hand with the linkage off. It reports how far
each sensor's edge is off the hinge line, and an arrow that points forward. A neutral measured before is void.
`hingeline neutral` and `hingeline throws` then measure about the hinge that was found, for the rest of this session;
after taping a sensor anew, find it again. Without this, the hinge runs along the carrier's edge.
"""

from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen


@measuring()
def hinge(screen: Screen, target: Target) -> None:
    from hingeline.checks.hinge import hinge_text
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_run, seat_sensors
    from hingeline.procedures.hinge import find_hinge

    surface = target.surface
    with open_run(screen, target) as (runner, sheet):
        instruments = seat_sensors(runner, sheet, surface, by_wiggle=True)
        hinges, kept = find_hinge(runner, sheet, surface, instruments)
    state = "found and kept for this session" if kept else "found, and not kept"
    screen.data(
        "\n".join([f"{surface}, hinge: {state}", *(f"  {hinge_text(each)}" for each in hinges)]),
        surface=surface,
        hinges=write_result(hinges),
    )
