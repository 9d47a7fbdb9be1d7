"""List what moved between two sessions, beyond the uncertainty.

\b
Examples:
  hingeline compare "Moss Lantern@2025" "Moss Lantern"
  hingeline compare "Moss Lantern@2025-04" "Moss Lantern" -o moved.html

It compares throws, neutrals and play. Name OLD and NEW as for `hingeline report`: a folder, AIRCRAFT@DATE, or AIRCRAFT
for the latest session. Exit status 0, whether anything moved or not.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import command
from hingeline.cli.commands import KEEP
from hingeline.cli.completing import sessions
from hingeline.cli.screen import Screen
from hingeline.storage.store import default_root
from hingeline.units import UNITS, signed

if TYPE_CHECKING:
    from hingeline.report.compare import Comparison


@command(KEEP)
@click.argument("old", shell_complete=sessions)
@click.argument("new", shell_complete=sessions)
@click.option(
    "-o", "output", type=click.Path(path_type=Path), metavar="FILE", help="Also write the list as an HTML page."
)
def compare(screen: Screen, old: str, new: str, output: Path | None) -> None:
    from hingeline.checks.results import write_result
    from hingeline.report.compare import compare as comparing
    from hingeline.report.page import compare_page
    from hingeline.report.paper import write_page
    from hingeline.report.results import read_session
    from hingeline.storage.sessions import find

    root = default_root()
    comparison = comparing(*(read_session(find(root, name, screen.say)) for name in (old, new)))
    if output is not None:
        write_page(output, compare_page(comparison))
        screen.say(f"Written: {output}")
    screen.data(
        _text(comparison),
        aircraft=comparison.new.aircraft,
        old=comparison.old.day,
        new=comparison.new.day,
        changes=write_result(comparison.changes),
        moved=len(comparison.moved),
        only_old=comparison.only_old,
        only_new=comparison.only_new,
        wrong=comparison.wrong,
        file=None if output is None else str(output),
    )


def _text(comparison: Comparison) -> str:
    old, new = comparison.dates
    rows = [f"{comparison.new.aircraft}, from {old} to {new}"]
    for change in comparison.changes:
        unit = UNITS.get(change.unit, "")
        place = f"{change.surface}, {change.position}, {change.name}"
        values = f"{signed(change.old):>7} -> {signed(change.new):>7}{unit}"
        rows.append(
            f"  {place:<46} {values:<24} {signed(change.change):>6}{unit} ±{change.reach_95:.2f}  {change.word}"
        )
    rows.append(f"{len(comparison.moved)} of {len(comparison.changes)} moved beyond ±, which holds for all with 95 %.")
    for date, only in ((old, comparison.only_old), (new, comparison.only_new)):
        rows += [f"Measured on {date} only: {'; '.join(only)}"] if only else []
    rows += [f"Not compared, {text}" for text in comparison.wrong]
    return "\n".join(rows)
