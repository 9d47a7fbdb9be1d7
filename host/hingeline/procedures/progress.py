"""How far the job is: what is plugged in, kept and measured so far. Plain data, which a command gathers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from hingeline.checks.asked import Measure, asked
from hingeline.device.samples import SensorInfo
from hingeline.errors import HingelineError, SheetError
from hingeline.rig.sheet import Sheet
from hingeline.storage.store import same_session
from hingeline.units import Side
from hingeline_calibration.datum import Datum


@dataclass(frozen=True)
class Sitting:
    """The last session of an aircraft, all its runs together.

    Attributes
    ----------
    day
        Of its beginning, local time, ISO 8601.
    last_written
        When its last record was written, UTC, ISO 8601.
    commands
        Each that was run, once.
    missing
        What the aircraft's sheet asks for and was not brought within the tolerance; None without a sheet.
    out
        Of the missing, what was read; and the checks whose last result was beyond a limit.
    """

    aircraft: str
    day: str
    last_written: str
    commands: tuple[str, ...] = ()
    missing: tuple[Measure, ...] | None = None
    out: tuple[Measure, ...] = ()


@dataclass(frozen=True)
class Progress:
    """The state of the job.

    Attributes
    ----------
    now
        Date and time, UTC, ISO 8601.
    boards, sensors
        Words for each board that answered, and their sensors.
    trouble
        Why none of the ports that are there has a board to work with.
    calibrated
        By sensor id, date and time of the calibration in use.
    sheets
        By path, the sheets of the folder, or their mistakes; that of the last session's aircraft first.
    session
        The last one of an aircraft whose sheet is in the folder, else of any.
    """

    now: str
    boards: tuple[str, ...] = ()
    sensors: tuple[SensorInfo, ...] = ()
    trouble: HingelineError | None = None
    calibrated: Mapping[str, str] = field(default_factory=dict)
    sides: Mapping[Side, str] = field(default_factory=dict)
    datum: Datum | None = None
    sheets: Mapping[Path, Sheet | SheetError] = field(default_factory=dict)
    session: Sitting | None = None

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
            and all(self.calibrated.get(name, "") <= self.datum.date for name in self.working)
        )

    @property
    def sheet(self) -> tuple[Path, Sheet] | None:
        """The first sheet without a mistake."""
        return next(((path, sheet) for path, sheet in self.sheets.items() if isinstance(sheet, Sheet)), None)

    @property
    def going_on(self) -> Sitting | None:
        """The last session, if it has not ended."""
        return self.session if self.session and same_session(self.session.last_written, self.now) else None

    @property
    def to_measure(self) -> tuple[Measure, ...]:
        """What the first sheet asks for and is not within the tolerance in this session."""
        if self.going_on and self.going_on.missing is not None:
            return self.going_on.missing
        return tuple(asked(self.sheet[1])) if self.sheet else ()
