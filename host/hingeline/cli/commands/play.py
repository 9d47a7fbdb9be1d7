"""Find the play of SURFACE by pushing it with a finger.

\b
Examples:
  hingeline play lantern.rig.toml flap
  hingeline play lantern.rig.toml elevator --limit "0.4 deg"

Lightly up, let go, down, let go, five times on each side. Servo powered, sticks centred. Stillness takes each
rest. The rests after letting go tell play and friction; the pushed ones add what bends. Exit status 0 within
the limit, 6 beyond, 7 where no push is seen.
"""

import click

from hingeline.cli.options import Target, limit_option, measuring
from hingeline.cli.screen import Screen


@measuring()
@click.option(
    "--cycles", type=click.IntRange(1, 20), default=5, show_default=True, metavar="N", help="Up and down so often."
)
@limit_option("by the sheet's profile, 0.5 or 1 mm", "0.5 mm")
def play(screen: Screen, target: Target) -> int:
    from hingeline.cli.run import examine
    from hingeline.procedures.play import Play

    return examine(screen, target, Play)
