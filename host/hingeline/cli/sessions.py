"""`hingeline sessions`: what was recorded."""

from __future__ import annotations

import click

from hingeline.cli.completing import aircraft as recorded_aircraft
from hingeline.cli.screen import Screen, command


@click.command()
@click.argument("aircraft", required=False, shell_complete=recorded_aircraft)
@command
def sessions(*, screen: Screen, aircraft: str | None) -> int:
    """List the recorded sessions by aircraft and date, all or those of AIRCRAFT.

    \b
    Examples:
      hingeline sessions
      hingeline sessions "Moss Lantern"
    """
    from hingeline.files import safe_name
    from hingeline.report.visits import Unreadable, printable
    from hingeline.report.visits import sessions as recorded
    from hingeline.store import default_root

    listed = []
    for one in recorded(default_root()):
        if isinstance(one, Unreadable):
            screen.say(printable(f"Left out: {one.problem}"))
        elif aircraft is None or one.folder.parent.name.casefold() == safe_name(aircraft).casefold():
            listed.append(one)
    rows, last = [], ""
    for one in listed:
        rows += [one.aircraft] if one.aircraft != last else []
        rows.append(f"  {one.date}  {one.command} {one.surface}".rstrip())
        last = one.aircraft
    screen.data("\n".join(rows) or "No session yet.", sessions=[one.to_dict() for one in listed])
    return 0
