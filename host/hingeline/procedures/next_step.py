"""The next sensible step of the job: the first row of a table whose condition holds."""

from __future__ import annotations

import shlex
from collections.abc import Callable
from typing import NamedTuple

from hingeline.errors import HingelineError, StoreError, WrongFirmware
from hingeline.procedures.progress import Progress
from hingeline.rig.kinds import BOTH


class Step(NamedTuple):
    """A command, and the reason for it."""

    command: str
    reason: str


def _trouble(kind: type[HingelineError]) -> Callable[[Progress], bool]:
    return lambda job: isinstance(job.trouble, kind)


def _is_out(job: Progress) -> bool:
    return bool(job.going_on and job.to_measure and job.to_measure[0] in job.going_on.out)


def _no_sides(job: Progress) -> bool:
    return len(job.working) >= len(BOTH) > len(set(job.working) & set(job.sides.values()))


# fmt: off
_TABLE: tuple[tuple[Callable[[Progress], object], str, str], ...] = (
    (_trouble(WrongFirmware), "install", "{job.trouble.cure}."),
    (_trouble(StoreError), "calibration list", "{job.trouble.cure}."),
    (_trouble(HingelineError), "doctor", "{job.trouble.cure}."),
    (lambda job: not job.boards and job.going_on and job.going_on.missing,
     "boards", "Your session is not over: plug the sensors in, then go on."),
    (lambda job: not job.boards and job.going_on, "report {session}", "The sensors are off: keep the report."),
    (lambda job: not job.boards and job.calibrated,
     "boards", "Plug the sensors in; this shows whether they answer."),
    (lambda job: not job.boards, "demo", "See the whole job done, without hardware."),
    (lambda job: not job.working or len(job.working) < len(job.sensors),
     "doctor", "A sensor does not work: see what is wrong."),
    (lambda job: job.uncalibrated, "calibrate", "Calibrate on a flat table: {uncalibrated}."),
    (_no_sides, "wiggle", "Show which sensor is left and which right."),
    (lambda job: not job.datum_is_fresh, "datum", "Lay all sensors on one flat: the datum of this session."),
    (lambda job: job.datum and job.datum.holds is False,
     "datum", "The datum does not hold: take it again, then read the neutrals again."),
    (lambda job: job.sheets and not job.sheet, "rig check {file}", "The sheet has something to fix."),
    (lambda job: not job.sheet, "rig new lantern.rig.toml", "Write a rigging sheet: your manual's figures."),
    (_is_out, "{measure.command} {file} {surface}",
     "The {measure.surface} was out of the tolerance: correct it as advised, then measure it again."),
    (lambda job: job.to_measure and job.to_measure[0].command == "neutral",
     "neutral {file} {surface}", "Tape the sensors on the {measure.surface} and set its neutral."),
    (lambda job: job.to_measure, "throws {file} {surface}", "Check the throws of the {measure.surface}."),
    (lambda job: job.datum and job.datum.holds is None,
     "drift-check", "Everything is measured: does the datum still hold?"),
    (lambda job: True, "report {aircraft}", "Count the sensors; keep the report."),
)
# fmt: on
"""When, which command, and why; from the plug to the report."""


def next_step(job: Progress) -> Step:
    """Choose the step that comes first."""
    command, reason = next((command, reason) for applies, command, reason in _TABLE if applies(job))
    path, sheet = job.sheet or (next(iter(job.sheets), None), None)
    measure = job.to_measure[0] if job.to_measure else None
    fields = {
        "job": job,
        "uncalibrated": ", ".join(job.uncalibrated),
        "measure": measure,
        "surface": shlex.quote(measure.surface) if measure else "",
        "file": shlex.quote(path.name) if path else "",
        "aircraft": shlex.quote(sheet.aircraft) if sheet else "",
        "session": shlex.quote(job.session.aircraft) if job.session else "",
    }
    return Step(f"hingeline {command.format(**fields)}", reason.format(**fields))
