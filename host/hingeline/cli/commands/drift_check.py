"""Lay all sensors on the flat again: does the datum hold?

\b
Example:
  hingeline drift-check

Do it after measuring, on the same spots, the same way round; after a reversal, turn them again too. It shows how far
each sensor has drifted, and keeps that with the datum: it enters the uncertainty of every angle from it. Exit status 0
if the datum holds, 6 if it does not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from hingeline.cli.command import command, port_option
from hingeline.cli.commands import FAULTS
from hingeline.cli.screen import Screen

if TYPE_CHECKING:
    from hingeline.procedures.datum import LaidDatum

AGAIN = "warm up, take the datum again, then read the neutrals again"


@command(FAULTS, port_option)
def drift_check(screen: Screen, ports: tuple[str, ...]) -> int:
    from hingeline.checks.results import write_result
    from hingeline.cli.run import open_table
    from hingeline.procedures.datum import check_drift

    with open_table(screen, ports, "drift-check") as runner:
        laid, result = check_drift(runner)
    fields = {**write_result(result), "datum": laid.datum.to_dict(), "inside": bool(laid.datum.holds)}
    return screen.verdict(_text(laid), **fields)


def _text(laid: LaidDatum) -> str:
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
