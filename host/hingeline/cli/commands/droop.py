"""Hold SURFACE deflected for a minute: how far it creeps.

\b
Example:
  hingeline droop lantern.rig.toml flap

Hold it at full deflection. It reports each side, and left minus right. Exit status 0 within the limit, 6 beyond.
"""

from hingeline.cli.command import Number, setting
from hingeline.cli.commands import FAULTS
from hingeline.cli.options import Target, limit_option, measuring
from hingeline.cli.screen import Screen


@measuring(section=FAULTS)
@setting("--for for_s", Number(10, 600), 60.0, "How long it is held.", unit="SECONDS")
@limit_option("0.5 deg", "0.3 deg")
def droop(screen: Screen, target: Target) -> int:
    from hingeline.cli.run import examine
    from hingeline.procedures.droop import Droop

    return examine(screen, target, Droop)
