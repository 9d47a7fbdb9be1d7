"""Show the throws of the linkage of SURFACE, and its best holes.

\b
Example:
  hingeline linkage lantern.rig.toml flap --arm-hole 8 --horn-hole 12

Nothing is measured: the throws at full servo travel follow from the sheet's arm, horn, rod and horn side. It tries each
arm hole you name with each horn hole, for the largest throws of the sheet. The pair that uses most of the servo's
travel comes first: it gives the finest steps and the least play.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import Number, Option, command, setting
from hingeline.cli.commands import SET_UP
from hingeline.cli.completing import sheet_argument, surface_argument
from hingeline.cli.screen import Screen
from hingeline.errors import LinkageBinds
from hingeline.rig import load_sheet

if TYPE_CHECKING:
    from hingeline.advice.linkage import Linkage
    from hingeline.advice.prediction import Holes

DEAD_CENTRE_DEG = 20.0
"""Nearer to one line than this, rod and lever have a third of their leverage left: common practice, no source."""
BEST = 5
"""As many pairs of holes are shown."""


def _hole_option(part: str) -> Option:
    text = f"A hole of the {part}; repeat."
    kind = Number(min=0, min_open=True)
    return click.option(f"--{part}-hole", f"{part}_holes_mm", type=kind, multiple=True, metavar="MM", help=text)


@command(SET_UP)
@sheet_argument
@surface_argument()
@setting(
    "--servo-travel servo_travel_deg", Number(5, 90), 45.0, "How far the servo turns each way at 100 %.", unit="DEG"
)
@_hole_option("arm")
@_hole_option("horn")
def linkage(
    *,
    screen: Screen,
    rig: Path,
    surface: str,
    servo_travel_deg: float,
    arm_holes_mm: tuple[float, ...],
    horn_holes_mm: tuple[float, ...],
) -> None:
    from hingeline.advice.prediction import best_holes, predict
    from hingeline.checks.linkage import described_chain

    sheet = load_sheet(rig)
    chain = described_chain(sheet, surface)
    throws = predict(chain, servo_travel_deg)
    wanted = [target.deflection_deg for target in sheet.targets(surface)]
    up_deg, down_deg = max([0.0, *wanted]), min([0.0, *wanted])
    holes = best_holes(
        chain,
        arm_holes_mm or (chain.arm_mm,),
        horn_holes_mm or (chain.horn_mm,),
        up_deg=up_deg,
        down_deg=down_deg,
        servo_travel_deg=servo_travel_deg,
    )[:BEST]
    text = f"{surface}: arm {chain.arm_mm:g} mm, horn {chain.horn_mm:g} mm, servo ±{servo_travel_deg:g}°: "
    text += "\n".join([throws.text(), *_dead_centres(chain, up_deg, down_deg), _text(holes, up_deg, down_deg)])
    if sheet.surface(surface).kind == "rudder":
        text = text.replace(": up ", ": left ").replace(", down ", ", right ")
    screen.data(
        text,
        surface=surface,
        throws={**asdict(throws), "differential_percent": throws.differential_percent},
        wanted_deg={"up": up_deg, "down": down_deg},
        holes=[asdict(pair) for pair in holes],
    )


def _dead_centres(chain: Linkage, *wanted_deg: float) -> Iterator[str]:
    """Yield a warning for each wanted throw where arm and rod, or rod and horn, come near one line."""
    for deg in filter(None, wanted_deg):
        try:
            off_deg = chain.off_dead_centre_deg(deg)
        except LinkageBinds:
            yield f"At {deg:+.1f}° this linkage binds: a longer arm, a shorter horn, or a horn that leans the other way"
            continue
        if off_deg < DEAD_CENTRE_DEG:
            yield (
                f"At {deg:+.1f}° rod and lever are {off_deg:.0f}° from dead centre: there the servo holds little, and "
                "play grows. Let arm and horn lean so that they are square to the rod half-way"
            )


def _text(holes: tuple[Holes, ...], up_deg: float, down_deg: float) -> str:
    wanted = f"the sheet's largest throws, {up_deg:+.1f}° and {down_deg:+.1f}°"
    if not holes:
        return f"No pair of holes reaches {wanted}: a longer arm or a shorter horn is needed."
    return "\n".join([f"For {wanted}, the best first:", *(f"  {pair.text()}" for pair in holes)])
