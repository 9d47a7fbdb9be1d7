"""`hingeline centring`: how well a surface comes back to neutral."""

from __future__ import annotations

import click

from hingeline.cli.options import Target, limit_option, measuring
from hingeline.cli.screen import Screen


@click.command()
@click.option(
    "--times",
    type=click.IntRange(2, 20),
    default=5,
    show_default=True,
    metavar="N",
    help="Returns from each way.",
)
@limit_option("by the sheet's profile, 0.2 or 0.5 deg", "0.3 deg")
@measuring()
def centring(*, screen: Screen, target: Target, **_: object) -> int:
    """Come to neutral from above and from below: how far apart SURFACE rests.

    \b
    Example:
      hingeline centring lantern.rig.toml elevator

    Five times each. The spread is how it repeats, the gap between both ways is hysteresis. Move the stick away, let
    it come back, leave it for a second. Exit status 0 within the limit, 6 beyond.
    """
    from hingeline.cli.run import examine
    from hingeline.procedures.centring import Centring

    return examine(screen, "centring", target, Centring)
