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

    Those without a reading are marked.
    """
    from hingeline.report.visits import WITHOUT_READINGS, Session, Unreadable, measured, there_are
    from hingeline.report.visits import sessions as recorded
    from hingeline.storage.files import safe_name
    from hingeline.storage.store import default_root
    from hingeline.units import printable

    everything: list[Session] = []
    for one in recorded(default_root()):
        if isinstance(one, Unreadable):
            screen.say(printable(f"Left out: {one.problem}"))
        else:
            everything.append(one)
    folder = None if aircraft is None else safe_name(aircraft).casefold()
    listed = {
        one: one.command in WITHOUT_READINGS or measured(one)
        for one in everything
        if folder in (None, one.folder.parent.name.casefold())
    }
    rows, last = [], ""
    for one, holds in listed.items():
        rows += [one.aircraft] if one.aircraft != last else []
        row = f"  {one.date}  {one.command} {one.surface}".rstrip()
        rows.append(row if holds else f"{row}, no reading")
        last = one.aircraft
    none = f"No session of {printable(aircraft)}: {there_are(everything)}." if aircraft else "No session yet."
    screen.data(
        "\n".join(rows) or none,
        sessions=[{**one.to_dict(), "measured": holds} for one, holds in listed.items()],
    )
    return 0
