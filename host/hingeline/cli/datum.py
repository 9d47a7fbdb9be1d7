"""`hingeline datum`: all sensors on one flat."""

from __future__ import annotations

import math

import click

from hingeline.cli.screen import Screen, command, port_option


@click.command()
@port_option
@command
def datum(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """Lay all sensors on one flat: the reference that neutrals are compared from.

    Bases down, long edges parallel, all arrows the same way. Do it at every visit, when the sensors are warm.

    \b
    Example:
      hingeline datum
    """
    from hingeline.cli.visit import visit
    from hingeline.pipeline import calibration_of, take_datum
    from hingeline.sides import usable

    with visit(screen, ports, "datum", "datum") as here:
        sensors = here.sensors
        calibrations = {name: calibration_of(here.store, sensors[name]) for name in usable(sensors)}
        screen.say(
            f"Lay all {len(calibrations)} sensor(s) on one flat, edges parallel, arrows the same way; let go."
        )
        taken = take_datum(here.store, calibrations, here.capture(tuple(calibrations)).rest())
    screen.data(
        "\n".join(
            [
                f"Datum of {len(taken.gravity)} sensor(s) kept, until one is warmed, knocked or calibrated again."
            ]
            + [
                f"  {name}  |gravity| {math.hypot(*one.vector_g):.4f} g"
                for name, one in taken.gravity.items()
            ]
        ),
        datum=taken.to_dict(),
    )
    return 0
