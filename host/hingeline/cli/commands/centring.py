"""Measure how well SURFACE returns, from above and from below.

\b
Example:
  hingeline centring lantern.rig.toml elevator

Move the stick away, let it come back, leave it for a second: five times each way. The spread shows how well the surface
repeats; the gap between both ways is hysteresis. Exit status 0 within the limit, 6 beyond.
"""

import click

from hingeline.cli.command import setting
from hingeline.cli.commands import FAULTS
from hingeline.cli.options import Target, limit_option, measuring
from hingeline.cli.screen import Screen


@measuring(section=FAULTS)
@setting("--times", click.IntRange(2, 20), 5, "Returns from each way.", unit="N")
@limit_option("by the sheet's profile, 0.2 or 0.5 deg", "0.3 deg")
def centring(screen: Screen, target: Target) -> int:
    from hingeline.cli.run import examine
    from hingeline.procedures.centring import Centring

    return examine(screen, target, Centring)
