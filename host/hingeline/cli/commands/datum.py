"""Lay all sensors on one flat: the reference of the neutrals.

\b
Examples:
  hingeline datum
  hingeline datum --reversal

Bases down, long edges parallel, all arrows the same way. Do it in every session, when the sensors are warm.
For matching left with right once is enough; for angles against level turn them too, or use a level flat.
"""

import click

from hingeline.cli.command import command, port_option
from hingeline.cli.commands import MEASURE
from hingeline.cli.screen import Screen
from hingeline.units import counted


@command(MEASURE, port_option)
@click.option("--reversal", is_flag=True, help="Lay them again turned end for end: the flat need not be level.")
def datum(screen: Screen, ports: tuple[str, ...], reversal: bool) -> None:
    from hingeline.cli.run import open_table
    from hingeline.procedures.datum import take_datum

    with open_table(screen, ports, "datum") as runner:
        laid = take_datum(runner, reversal)
    until = "kept, until one is warmed, knocked or calibrated again" if laid.is_kept else "taken, and not kept"
    tilt_deg = laid.datum.table_tilt_deg
    tilt = "" if tilt_deg is None else f" The flat is {tilt_deg:.2f}° off level."
    rows = [f"Datum of {counted(len(laid.datum.gravity), 'sensor')} {until}.{tilt}"]
    for name in laid.calibrations:
        among_deg, level_deg = laid.reach_deg(name), laid.reach_deg(name, level=True)
        rows.append(f"  {name}  ±{among_deg:.2f}° against the others, ±{level_deg:.2f}° against level")
    rows.append("After measuring, `hingeline drift-check` tells whether it still holds.")
    screen.data("\n".join(rows), datum=laid.datum.to_dict())
