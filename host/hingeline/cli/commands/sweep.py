"""Sweep SURFACE from end to end: left against right.

\b
Examples:
  hingeline sweep lantern.rig.toml aileron
  hingeline sweep lantern.rig.toml elevator --points both-ways

Move slowly, some ten seconds each way; it leaves out what moves too fast. No stick signal is needed. It also reports
hysteresis of one side against the other, and a side that stops before the other. Exit status 0 within the sheet's
tolerance for left against right, 6 beyond.
"""

import click

from hingeline.cli.command import setting
from hingeline.cli.commands import FAULTS
from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen


@measuring(section=FAULTS)
@setting("--sweeps", click.IntRange(1, 20), 2, "From end to end and back.", unit="N")
@setting(
    "--points",
    click.Choice(["none", "one-way", "both-ways"]),
    "none",
    "Hold half and full stick first, expo off: is half stick half the way?",
)
def sweep(screen: Screen, target: Target) -> int:
    from hingeline.cli.run import examine
    from hingeline.procedures.sweep import Sweep

    return examine(screen, target, Sweep)
