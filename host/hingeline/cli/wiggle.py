"""`hingeline wiggle`: which sensor is which."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option

if TYPE_CHECKING:
    from hingeline.procedures.runner import Runner
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
    from hingeline.cli.run import open_table
    from hingeline.device.description import sensor_place
    from hingeline.rig.kinds import BOTH
    from hingeline.storage.sides import save_sides

    with open_table(screen, ports, "wiggle") as runner:
        sides = _sides(runner)
        runner.save(lambda: save_sides(runner.store, sides, runner.started))
        runner.record("wiggle", sides=sides)
        infos = {side: runner.sensors[sides[side]] for side in BOTH}
    text = "\n".join(
        f"{side:<5}  sensor {info.sensor_id}, {sensor_place(info)} of {info.port}"
        for side, info in infos.items()
    )
    screen.data(text, sides=sides)
    return 0


def _sides(runner: Runner) -> dict[Side, str]:
    """Ask for a wiggle of the left sensor; with more than two sensors, of the right one too."""
    from hingeline.errors import NoBoard
    from hingeline.procedures.wiggle import FindSide
    from hingeline.rig.kinds import BOTH
    from hingeline.storage.sides import working_sensors

    working = working_sensors(runner.sensors)
    if len(working) < len(BOTH):
        raise NoBoard(
            f"Sensor {working[0]} is the only one that works, so there is nothing to tell apart",
            "Plug in another sensor; `hingeline boards` shows what answers",
        )
    left = runner.run(FindSide(working, side="left")).sensor_id
    others = [name for name in working if name != left]
    right = (
        others[0] if len(others) == 1 else runner.run(FindSide(working, side="right", taken=left)).sensor_id
    )
    return {"left": left, "right": right}
