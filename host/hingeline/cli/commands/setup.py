"""Set up an aircraft in one sitting, from datum to report.

\b
Examples:
  hingeline setup lantern.rig.toml
  hingeline setup lantern.rig.toml flap --page-on 192.168.1.20

It begins with the datum, then goes surface by surface: tape, one slow stroke, neutral, throws. At the end you lay all
sensors on the flat again, and it writes the report. After an interruption, give the same command again: it does not ask
for what is within the tolerance in this session. Exit status 0 within the tolerance, 6 outside.
"""

import shlex

from hingeline.cli.options import Target, measuring
from hingeline.cli.screen import Screen
from hingeline.errors import UsageProblem


@measuring(fixed=True, surface_required=False)
def setup(screen: Screen, target: Target) -> int:
    from hingeline.checks.results import write_result
    from hingeline.cli.progress import is_drift_checked, still_to_measure
    from hingeline.cli.run import open_run
    from hingeline.procedures.setup import set_up
    from hingeline.report.keep import keep_report
    from hingeline.rig import load_sheet
    from hingeline.storage.store import Store, now_text

    if target.replay is not None:
        raise UsageProblem(
            "A whole set-up is not replayed", "Replay a run of `hingeline neutral` or `hingeline throws`"
        )
    sheet = load_sheet(target.rig)
    work = [
        measure
        for measure in still_to_measure(Store(), target.rig, sheet, now_text(), screen.say)
        if target.surface in ("", measure.surface)
    ]
    go_on = shlex.join(("hingeline", "setup", str(target.rig)))
    if not work and is_drift_checked(Store()):
        screen.say("All that the sheet asks for is within the tolerance in this session.")
        path = str(keep_report(sheet.aircraft, screen.say).path)
        return screen.verdict(path, neutrals={}, throws={}, drift=None, report=path, inside=True)
    with open_run(screen, target) as (runner, _):
        job = set_up(runner, sheet, work, go_on)
    path = str(keep_report(sheet.aircraft, screen.say).path)
    text = "\n".join(filter(None, (throws.text() for throws in job.throws.values())))
    return screen.verdict(
        f"{text}\nReport: {path}".lstrip(),
        neutrals=write_result(job.neutrals),
        throws=write_result({name: throws.readings for name, throws in job.throws.items()}),
        drift=write_result(job.drift),
        report=path,
        inside=job.inside,
    )
