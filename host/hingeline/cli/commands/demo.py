"""Do the whole job on two invented sensors and an invented glider.

\b
Example:
  hingeline demo

Each step shows truth beside measurement. Two sensors as bad as their datasheet allows run the real firmware; nothing is
plugged in and nothing kept. Exit status 0 only if the stated interval of every measured value holds the truth.
"""

from hingeline.cli.command import command
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.errors import OutOfTolerance


@command(SET_UP)
def demo(screen: Screen) -> int:
    from hingeline.demo.job import REACH, run_job

    say = screen.say if screen.as_json else screen.data
    rows = run_job(say)
    agreeing = sum(row.agrees for row in rows)
    screen.data(
        f"\nEvery reading is within its tolerance. {agreeing} of {len(rows)} values agree with the truth within ±,\n"
        f"which is {REACH} standard uncertainties, so that all rows hold together with 99.9 %.",
        coverage_factor=REACH,
        rows=[row.to_dict() for row in rows],
        agrees=agreeing == len(rows),
    )
    return 0 if agreeing == len(rows) else OutOfTolerance.exit_status
