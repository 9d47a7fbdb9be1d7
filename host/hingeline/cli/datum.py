"""`hingeline datum`: all sensors on one flat."""

from __future__ import annotations

import math

import click

from hingeline.cli.screen import Screen, command, port_option


@click.command()
@port_option
@click.option("--turned", is_flag=True, help="Lay them again turned end for end: the flat need not be level.")
@command
def datum(*, screen: Screen, ports: tuple[str, ...], turned: bool) -> int:
    """Lay all sensors on one flat: the reference that neutrals are compared from.

    Bases down, long edges parallel, all arrows the same way. Do it at every visit, when the sensors are warm.
    For matching left with right once is enough; for angles against level turn them too, or use a level flat.

    \b
    Examples:
      hingeline datum
      hingeline datum --turned
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
        capture, again = here.capture(tuple(calibrations)), None
        rests = capture.rest()
        if turned:
            screen.say("Turn each end for end on its spot, so that every arrow points the other way; let go.")
            again = capture.rest(all_moved=True)
        taken = take_datum(here.store, calibrations, rests, again)
    tilt = "" if taken.table_tilt_deg is None else f" The flat is {taken.table_tilt_deg:.2f}° off level."
    screen.data(
        "\n".join(
            [
                f"Datum of {len(taken.gravity)} sensor(s) kept, until one is warmed, knocked or calibrated again.{tilt}"
            ]
            + [
                f"  {name}  |gravity| {math.hypot(*one.vector_g):.4f} g"
                for name, one in taken.gravity.items()
            ]
        ),
        datum=taken.to_dict(),
    )
    return 0
