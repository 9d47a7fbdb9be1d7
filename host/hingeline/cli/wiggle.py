"""`hingeline wiggle`: which sensor is which."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.cli.visit import Visit
    from hingeline.procedures.wiggle import Wiggles
    from hingeline.units import Side


@click.command()
@port_option
@command
def wiggle(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """Find out which sensor is which by wiggling it, and remember left and right.

    \b
    Example:
      hingeline wiggle

    On the table or on the aircraft: wiggle the left one, then, where there are more than two, the right one. Every
    command takes the sides from then on, until you wiggle again or name others with --left and --right.
    """
    from hingeline.cli.opening import visit
    from hingeline.device.description import sensor_place
    from hingeline.rig.kinds import BOTH
    from hingeline.storage.runs import TABLE
    from hingeline.storage.sides import save_sides

    with visit(screen, ports, TABLE, "wiggle") as here:
        sides = _sides(here)
        here.keep(lambda: save_sides(here.store, sides, here.started))
        here.record("wiggle", sides=sides)
        infos = {side: here.sensors[sides[side]] for side in BOTH}
    text = "\n".join(
        f"{side:<5}  sensor {info.sensor_id}, {sensor_place(info)} of {info.port}"
        for side, info in infos.items()
    )
    screen.data(text, sides=sides)
    return 0


def _sides(here: Visit) -> dict[Side, str]:
    """Return the sensor of each side as it was wiggled; of two, the other one is right."""
    from hingeline.errors import NoBoard
    from hingeline.procedures.wiggle import Wiggles
    from hingeline.rig.kinds import BOTH
    from hingeline.storage.sides import working_sensors

    working = working_sensors(here.sensors)
    if len(working) < len(BOTH):
        raise NoBoard(
            f"Sensor {working[0]} is the only one that works, so there is nothing to tell apart",
            "Plug in another sensor; `hingeline boards` shows what answers",
        )
    here.screen.say("Hands off for a moment.")
    wiggles = Wiggles(partial(here.capture, working))
    left = _wiggled(here, wiggles, "left", "")
    others = [name for name in working if name != left]
    right = others[0] if len(others) == 1 else _wiggled(here, wiggles, "right", left)
    return {"left": left, "right": right}


def _wiggled(here: Visit, wiggles: Wiggles, side: Side, taken: str) -> str:
    """Return the sensor that is wiggled alone and has no side yet."""
    while True:
        here.screen.say(
            f"Wiggle the sensor on the {side.upper()}, as seen from behind, or its surface; then hands off."
        )
        name = wiggles.next()
        if name is None:
            here.screen.say("Several sensors moved alike: hold the model, and wiggle one alone.")
        elif name == taken:
            here.screen.say(f"Sensor {name} has its side already.")
        else:
            return name
