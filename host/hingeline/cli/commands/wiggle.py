"""Find out which sensor is left, which right, by wiggling it.

\b
Example:
  hingeline wiggle

On the table or on the aircraft: wiggle the left one, then, where there are more than two, the right one. Every
command takes the sides from then on, until you wiggle again or name others with --left and --right.
"""

from hingeline.cli.command import command, port_option
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen


@command(SET_UP, port_option)
def wiggle(screen: Screen, ports: tuple[str, ...]) -> None:
    from hingeline.cli.run import open_table
    from hingeline.device.description import sensor_place
    from hingeline.procedures.wiggle import find_sides

    with open_table(screen, ports, "wiggle") as runner:
        sides = find_sides(runner)
        infos = {side: runner.sensors[sensor_id] for side, sensor_id in sides.items()}
    text = "\n".join(
        f"{side:<5}  sensor {info.sensor_id}, {sensor_place(info)} of {info.port}" for side, info in infos.items()
    )
    screen.data(text, sides=sides)
