"""How far the job is, as plain data that a command gathers, and the next sensible step of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from hingeline.checks.positions import Measure, asked
from hingeline.device.samples import SensorInfo
from hingeline.errors import HingelineError, SheetError, StoreError, WrongFirmware
from hingeline.procedures.shell import quote
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline.storage.store import same_session
from hingeline.units import Side
from hingeline_calibration.datum import Datum


class SessionProgress(NamedTuple):
    """The last session of an aircraft: the local day it began, when it was last written (UTC), its commands.

    `missing` is what the aircraft's sheet asks for and was not brought within the tolerance, None without a sheet.
    `out` is what of it was read, and the checks whose last result was beyond a limit.
    """

    aircraft: str
    day: str
    last_written: str
    commands: tuple[str, ...] = ()
    missing: tuple[Measure, ...] | None = None
    out: tuple[Measure, ...] = ()


@dataclass(frozen=True)
class Progress:
    """The state of the job at a time, `now` (UTC, ISO 8601).

    `boards` are words for each that answered; `trouble` says why none of the ports has a board to work with.
    `calibrated` tells by sensor id the date of the calibration in use. `sheets` are those of the folder, or their
    mistakes, that of the last session's aircraft first. `session` is the last one of an aircraft whose sheet is in the
    folder, else of any.
    """

    now: str
    boards: tuple[str, ...] = ()
    sensors: tuple[SensorInfo, ...] = ()
    trouble: HingelineError | None = None
    calibrated: Mapping[str, str] = field(default_factory=dict)
    sides: Mapping[Side, str] = field(default_factory=dict)
    datum: Datum | None = None
    sheets: Mapping[Path, Sheet | SheetError] = field(default_factory=dict)
    session: SessionProgress | None = None

    @property
    def working(self) -> tuple[str, ...]:
        """Ids of the sensors that work."""
        return tuple(info.sensor_id for info in self.sensors if info.state == "ok")

    @property
    def uncalibrated(self) -> tuple[str, ...]:
        """Ids of the working sensors without a calibration."""
        return tuple(name for name in self.working if name not in self.calibrated)

    @property
    def datum_is_fresh(self) -> bool:
        """Whether the datum is of this session, of every sensor that works, and older than no calibration."""
        return (
            self.datum is not None
            and same_session(self.datum.date, self.now)
            and set(self.working) <= self.datum.gravity.keys()
            and not any(self.datum.date < self.calibrated.get(name, "") <= self.now for name in self.working)
        )

    @property
    def sheet(self) -> tuple[Path, Sheet] | None:
        """The first sheet without a mistake."""
        return next(((path, sheet) for path, sheet in self.sheets.items() if isinstance(sheet, Sheet)), None)

    @property
    def going_on(self) -> SessionProgress | None:
        """The last session, if it has not ended."""
        return self.session if self.session and same_session(self.session.last_written, self.now) else None

    @property
    def to_measure(self) -> tuple[Measure, ...]:
        """What the first sheet asks for and is not within the tolerance in this session."""
        if self.going_on and self.going_on.missing is not None:
            return self.going_on.missing
        return tuple(asked(self.sheet[1])) if self.sheet else ()


class NextCommand(NamedTuple):
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
    (lambda job: not job.boards and job.sheets and not job.sheet,
     "rig check {file}", "The sheet has something to fix."),
    (lambda job: not job.boards and job.calibrated,
     "boards", "Plug the sensors in; this shows whether they answer."),
    (lambda job: not job.boards, "demo", "See the whole job done, without hardware."),
    (lambda job: not job.working or len(job.working) < len(job.sensors),
     "doctor", "A sensor does not work: see what is wrong."),
    (lambda job: job.uncalibrated, "calibrate", "Calibrate on a flat table: {uncalibrated}."),
    (_no_sides, "wiggle", "Show which sensor is left and which right."),
    (lambda job: not job.datum_is_fresh and not job.going_on and job.to_measure,
     "setup {file}", "Set up {job.sheet[1].aircraft} in one sitting; it begins with the datum."),
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


def next_step(job: Progress) -> NextCommand:
    """Choose the step that comes first."""
    command, reason = next((command, reason) for applies, command, reason in _TABLE if applies(job))
    path, sheet = job.sheet or (next(iter(job.sheets), None), None)
    measure = job.to_measure[0] if job.to_measure else None
    fields = {
        "job": job,
        "uncalibrated": ", ".join(job.uncalibrated),
        "measure": measure,
        "surface": quote(measure.surface) if measure else "",
        "file": quote(path.name) if path else "",
        "aircraft": quote(sheet.aircraft) if sheet else "",
        "session": quote(job.session.aircraft) if job.session else "",
    }
    return NextCommand(f"hingeline {command.format(**fields)}", reason.format(**fields))
