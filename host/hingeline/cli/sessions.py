"""`hingeline sessions`: what was recorded."""

from __future__ import annotations

import click

from hingeline.cli.completing import aircraft as recorded_aircraft
from hingeline.cli.screen import Screen, command


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
    from hingeline.storage.files import safe_name
    from hingeline.storage.runs import WITHOUT_READINGS, Run, all_runs
    from hingeline.storage.sessions import gather, there_are
    from hingeline.storage.store import default_root
    from hingeline.units import printable

    runs: list[Run] = []
    for run in all_runs(default_root()):
        if isinstance(run, Run):
            runs.append(run)
        else:
            screen.say(run.text)
    folder = None if aircraft is None else safe_name(aircraft).casefold()
    listed = list(gather(run for run in runs if folder in (None, run.folder.parent.name.casefold())))
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
                "runs": [{**run.to_dict(), "measured": holds[run]} for run in session.runs],
            }
            for session in listed
        ],
    )
    return 0
