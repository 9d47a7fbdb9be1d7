"""Sweep SURFACE from end to end: left against right.

\b
Examples:
  hingeline sweep lantern.rig.toml aileron
  hingeline sweep lantern.rig.toml elevator --points both-ways

Slowly. No stick signal is needed. Some ten seconds each way; what moves too fast is left out. Also told: hysteresis
of one side against the other, and a side that stands at its end while the other goes on. Exit status 0 within the
sheet's tolerance for left against right, 6 beyond.
"""

import click

from hingeline.cli.command import setting
from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen


@measuring()
@setting("--sweeps sweeps", click.IntRange(1, 20), 2, "N", "From end to end and back.")
@click.option(
    "--points",
    type=click.Choice(["none", "one-way", "both-ways"]),
    default="none",
    show_default=True,
    help="Hold half and full stick first, expo off: half stick is half the way?",
)
def sweep(screen: Screen, target: Target) -> int:
    from hingeline.cli.run import examine
    from hingeline.procedures.sweep import Sweep

    return examine(screen, target, Sweep)
