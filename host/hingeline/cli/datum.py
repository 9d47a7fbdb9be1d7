"""`hingeline datum` and `hingeline drift-check`: all sensors on one flat, before measuring and after."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option
from hingeline.errors import OutOfTolerance
from hingeline.units import counted

if TYPE_CHECKING:
    from hingeline.procedures.datum import LaidDatum

AGAIN = "warm up, take the datum again, then read the neutrals again"


@click.command()
@port_option
@click.option("--reversal", is_flag=True, help="Lay them again turned end for end: the flat need not be level.")
@command
def datum(*, screen: Screen, ports: tuple[str, ...], reversal: bool) -> int:
    """Lay all sensors on one flat: the reference that neutrals are compared from.

    \b
    Examples:
      hingeline datum
      hingeline datum --reversal

    Bases down, long edges parallel, all arrows the same way. Do it in every session, when the sensors are warm.
    For matching left with right once is enough; for angles against level turn them too, or use a level flat.
    """
    from hingeline.cli.run import open_table
    from hingeline.procedures.datum import take_datum

    with open_table(screen, ports, "datum") as runner:
        laid = take_datum(runner, reversal)
    until = "kept, until one is warmed, knocked or calibrated again" if laid.is_kept else "taken, and not kept"
    tilt_deg = laid.datum.table_tilt_deg
    tilt = "" if tilt_deg is None else f" The flat is {tilt_deg:.2f}° off level."
    accuracies = [
        f"  {name}  ±{laid.reach_deg(name):.2f}° against the others, "
        f"±{laid.reach_deg(name, level=True):.2f}° against level"
        for name in laid.calibrations
    ]
    rows = [f"Datum of {counted(len(laid.datum.gravity), 'sensor')} {until}.{tilt}", *accuracies]
    rows.append("After measuring, `hingeline drift-check` tells whether it still holds.")
    screen.data("\n".join(rows), datum=laid.datum.to_dict())
    return 0


@click.command("drift-check")
@port_option
@command
def drift_check(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """Lay all sensors on the flat once more: does the datum still hold?

    \b
    Example:
      hingeline drift-check

    After measuring, on the same spots, the same way round; after a reversal, turned again too. How far each sensor
    has drifted is shown, and kept with the datum: it enters the uncertainty of every angle from it. Exit status 0 if
    the datum holds, 6 if it does not.
    """
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_table
    from hingeline.procedures.datum import check_drift

    with open_table(screen, ports, "drift-check") as runner:
        laid, result = check_drift(runner)
    fields = {**write_result(result), "datum": laid.datum.to_dict(), "inside": laid.datum.holds}
    screen.data(_drift_text(laid), **fields)
    return 0 if laid.datum.holds else OutOfTolerance.exit_status


def _drift_text(laid: LaidDatum) -> str:
    rows = []
    for name, drift_deg in laid.datum.drift_deg.items():
        is_fine = abs(drift_deg) <= laid.datum.closure_limit_deg
        verdict = "fine" if is_fine else "too far: neutrals read since are off by up to this"
        reach_deg = laid.reach_deg(name, layings=2)
        rows.append(f"{name}  Drift since the datum: {abs(drift_deg):.2f}° ±{reach_deg:.2f}, {verdict}")
    if laid.datum.holds:
        return "\n".join(rows)
    cure = f"The datum does not hold: {AGAIN}"
    if laid.lies_elsewhere:
        cure = (
            "The datum does not hold: all sensors drifted by more than 1°. Do the carriers lie on the flat, as they "
            f"did for it? If not, lay them there and give `hingeline drift-check` again; if so, {AGAIN}"
        )
    return "\n".join([*rows, cure])
