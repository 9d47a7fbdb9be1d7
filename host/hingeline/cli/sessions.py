"""`hingeline sessions`: what was recorded."""

from __future__ import annotations

import click

from hingeline.cli.completing import aircraft as recorded_aircraft
from hingeline.cli.screen import Screen, command
from hingeline.storage.store import default_root
from hingeline.units import printable


@click.command()
@click.argument("aircraft", required=False, shell_complete=recorded_aircraft)
@command
def sessions(*, screen: Screen, aircraft: str | None) -> int:
    """List the recorded sessions with their runs: all, or those of AIRCRAFT.

    \b
    Examples:
      hingeline sessions
      hingeline sessions "Moss Lantern"

    A session is everything measured in one sitting, a run what one command recorded. Runs without a reading are marked.
    """
    from hingeline.storage.sessions import WITHOUT_READINGS, all_runs, gather, is_of, there_are

    runs = all_runs(default_root(), lambda path, text: screen.say(text))
    listed = list(gather(run for run in runs if aircraft is None or is_of(run.path, aircraft)))
    holds = {run: run.command in WITHOUT_READINGS or run.measured for each in listed for run in each.runs}
    rows, last = [], ""
    for session in listed:
        rows += [session.aircraft] if session.aircraft != last else []
        rows.append(f"  {session.name}")
        rows += [f"    {run.name}{'' if holds[run] else ', no reading'}" for run in session.runs]
        last = session.aircraft
    nothing = f"No session of {printable(aircraft)}: {there_are(runs)}." if aircraft else "No session yet."
    screen.data(
        "\n".join(rows) or nothing,
        sessions=[
            {
                "aircraft": session.aircraft,
                "session": session.name,
                "runs": [
                    {
                        "file": str(run.path),
                        "command": run.command,
                        "surface": run.surface,
                        "started": run.started,
                        "hingeline": run.tool_version,
                        "measured": holds[run],
                    }
                    for run in session.runs
                ],
            }
            for session in listed
        ],
    )
    return 0
