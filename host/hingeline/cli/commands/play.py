"""Find the play of SURFACE by pushing it with a finger.

\b
Examples:
  hingeline play lantern.rig.toml flap
  hingeline play lantern.rig.toml elevator --limit "0.4 deg"

Push lightly up, let go, down, let go, five times on each side. Servo powered, sticks centred. Stillness takes each
reading. The readings after letting go show play and friction; the pushed ones add flex. Exit status 0 within the limit,
6 beyond, 7 without a push.
"""

import click

from hingeline.cli.command import setting
from hingeline.cli.commands import FAULTS
from hingeline.cli.options import Target, limit_option, measuring
from hingeline.cli.screen import Screen


@measuring(section=FAULTS)
@setting("--cycles", click.IntRange(1, 20), 5, "How often you push up and down.", unit="N")
@limit_option("by the sheet's profile, 0.5 or 1 mm", "0.5 mm")
def play(screen: Screen, target: Target) -> int:
    from hingeline.cli.run import examine
    from hingeline.procedures.play import Play

    return examine(screen, target, Play)
