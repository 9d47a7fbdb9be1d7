"""List what moved between sessions, or differs in a pair of aircraft.

\b
Examples:
  hingeline compare "Moss Lantern@2025" "Moss Lantern"
  hingeline compare "Reedling@2024" "Reedling@2025" Reedling -o moved.html
  hingeline compare "Moss Lantern" "Fern Lantern" --csv pair.csv

It lists what is beyond the uncertainty of both: throws, neutrals and play of the first session named and of the last.
The page draws those between, too. Name
each SESSION as for `hingeline report`: a folder, AIRCRAFT@DATE, or AIRCRAFT for its latest session. Exit status 0,
whether anything moved or not.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import command
from hingeline.cli.commands import KEEP
from hingeline.cli.completing import sessions
from hingeline.cli.screen import Screen
from hingeline.errors import UsageProblem
from hingeline.storage.store import default_root
from hingeline.units import UNITS, signed

if TYPE_CHECKING:
    from hingeline.report.compare import Comparison


@command(KEEP)
@click.argument("names", metavar="SESSION SESSION ...", nargs=-1, required=True, shell_complete=sessions)
@click.option(
    "-o",
    "output",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Also write the list as an HTML page, with plots.",
)
@click.option("--csv", "table", type=click.Path(path_type=Path), metavar="FILE", help="Also write every value as CSV.")
def compare(screen: Screen, names: tuple[str, ...], output: Path | None, table: Path | None) -> None:
    from hingeline.checks.results import write_result
    from hingeline.report.compare import compare as comparing
    from hingeline.report.page import compare_page
    from hingeline.report.paper import write_page
    from hingeline.report.results import read_session
    from hingeline.report.seasons import seasons_table
    from hingeline.storage.sessions import find

    root = default_root()
    if len(names) == 1:
        raise UsageProblem(
            "One session was named", "Name an earlier one before it: AIRCRAFT@DATE; see `hingeline sessions`"
        )
    comparison = comparing(*(read_session(find(root, name, screen.say)) for name in names))
    for path, make in ((output, compare_page), (table, seasons_table)):
        if path is not None:
            write_page(path, make(comparison))
            screen.say(f"Written: {path}")
    screen.data(
        _text(comparison),
        aircraft=comparison.new.aircraft,
        pair=comparison.old.aircraft if comparison.is_pair else None,
        old=comparison.old.day,
        new=comparison.new.day,
        changes=write_result(comparison.changes),
        moved=len(comparison.moved),
        only_old=comparison.only_old,
        only_new=comparison.only_new,
        wrong=comparison.wrong,
        file=None if output is None else str(output),
        csv=None if table is None else str(table),
    )


def _text(comparison: Comparison) -> str:
    first, last = comparison.heads[0], comparison.heads[-1]
    rows = [f"{first} beside {last}" if comparison.is_pair else f"{comparison.new.aircraft}, from {first} to {last}"]
    for change in comparison.changes:
        unit = UNITS.get(change.unit, "")
        place = f"{change.surface}, {change.position}, {change.name}"
        values = f"{signed(change.old):>7} -> {signed(change.new):>7}{unit}"
        rows.append(
            f"  {place:<46} {values:<24} {signed(change.change):>6}{unit} ±{change.reach_95:.2f}  {change.word}"
        )
    word = "differ" if comparison.is_pair else "moved"
    rows.append(f"{len(comparison.moved)} of {len(comparison.changes)} {word} beyond ±, which holds for all with 95 %.")
    for head, only in ((first, comparison.only_old), (last, comparison.only_new)):
        rows += [f"Measured on {head} only: {'; '.join(only)}"] if only else []
    rows += [f"Not compared, {text}" for text in comparison.wrong]
    return "\n".join(rows)
