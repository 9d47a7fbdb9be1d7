"""List the recorded sessions, all or those of AIRCRAFT.

\b
Examples:
  hingeline sessions
  hingeline sessions "Moss Lantern"

A session is everything measured in one sitting, a run what one command recorded. Runs without a reading are marked.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.command import command
from hingeline.cli.commands import KEEP
from hingeline.cli.completing import aircraft as recorded_aircraft
from hingeline.cli.screen import Screen
from hingeline.storage.store import default_root
from hingeline.units import printable

if TYPE_CHECKING:
    from hingeline.storage.sessions import Session


@command(KEEP)
@click.argument("aircraft", required=False, shell_complete=recorded_aircraft)
def sessions(screen: Screen, aircraft: str | None) -> None:
    from hingeline.storage.runs import all_runs
    from hingeline.storage.sessions import gather, is_of, no_session

    runs = all_runs(default_root(), lambda path, text: screen.say(text))
    listed = list(gather(run for run in runs if aircraft is None or is_of(run.path, aircraft)))
    if aircraft and not listed:
        cure = "Name one of those, or list all: `hingeline sessions`"
        raise no_session(f"There is no session of {printable(aircraft)}", runs, cure)
    fields = list(map(_fields, listed))
    rows, last = [], ""
    for session, entry in zip(listed, fields, strict=True):
        rows += [session.aircraft] if session.aircraft != last else []
        rows.append(f"  {session.name}")
        for run, run_fields in zip(session.runs, entry["runs"], strict=True):
            rows.append(f"    {run.name}{'' if run_fields['measured'] else ', no reading'}")
        last = session.aircraft
    screen.data("\n".join(rows) or "No session yet.", sessions=fields)


def _fields(session: Session) -> dict[str, Any]:
    from hingeline.storage.sessions import WITHOUT_READINGS

    runs = [
        {
            "file": str(run.path),
            "command": run.command,
            "surface": run.surface,
            "started": run.started,
            "hingeline": run.tool_version,
            "measured": run.command in WITHOUT_READINGS or run.measured,
        }
        for run in session.runs
    ]
    return {"aircraft": session.aircraft, "session": session.name, "runs": runs}
