"""`hingeline droop`: what a held surface does in a minute."""

from __future__ import annotations

import click

from hingeline.cli.options import Target, limit_option, measuring
from hingeline.cli.screen import Number, Screen


@click.command()
@click.option(
    "--for",
    "for_s",
    type=Number(10, 600),
    default=60.0,
    show_default=True,
    metavar="SECONDS",
    help="How long it is held.",
)
@limit_option("0.5 deg", "0.3 deg")
@measuring()
def droop(*, screen: Screen, target: Target, **_: object) -> int:
    """Hold SURFACE at full deflection for a minute: how far each side creeps.

    \b
    Example:
      hingeline droop lantern.rig.toml flap

    Left from right is told too. Exit status 0 within the limit, 6 beyond.
    """
    from hingeline.cli.run import examine
    from hingeline.procedures.droop import Droop

    return examine(screen, "droop", target, Droop)
