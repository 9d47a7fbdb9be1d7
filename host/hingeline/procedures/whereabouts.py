"""Where one is in the job: what the ports, the store and the rigging sheets of a folder tell."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from hingeline.checks.asked import Measure, Place, asked, places
from hingeline.checks.results import CheckResult
from hingeline.device.description import board_name
from hingeline.device.link.ports import discover
from hingeline.device.samples import SensorInfo
from hingeline.errors import HingelineError, NotStored, SheetError, StoreError
from hingeline.report.visits import ON_THE_TABLE, Session, measured, sessions
from hingeline.rig import load_sheet
from hingeline.rig.sheet import Sheet
from hingeline.storage.calibrations import load_datum
from hingeline.storage.copies import KIND, check_copies
from hingeline.storage.keys import open_fleet
from hingeline.storage.results import READINGS, read_results
from hingeline.storage.sides import load_sides
from hingeline.storage.store import Store, same_visit
from hingeline.units import Side

SHEETS = "*.rig.toml"


@dataclass(frozen=True)
class Plugged:
    """What is at the ports.

    Attributes
    ----------
    boards
        Words for each board that answered.
    sensors
        Theirs.
    trouble
        Why none of the ports that are there has a board to work with.
    """

    boards: tuple[str, ...] = ()
    sensors: tuple[SensorInfo, ...] = ()
    trouble: HingelineError | None = None

    @property
    def working(self) -> tuple[str, ...]:
        """Ids of the sensors that work."""
        return tuple(one.sensor_id for one in self.sensors if one.state == "ok")


@dataclass(frozen=True)
class Flat:
    """The datum that is kept: when it was taken, of which sensors, and whether it `Datum.holds`."""

    date: str
    sensors: frozenset[str]
    holds: bool | None


@dataclass(frozen=True)
class Visited:
    """The last visit to an aircraft.

    Attributes
    ----------
    aircraft, day, started
        Which, and when; `started` of its last session, UTC, ISO 8601.
    commands
        What was done, each once.
    readings
        By place, whether the last reading was within the tolerance.
    beyond
        Which checks last found something beyond its limit.
    """

    aircraft: str
    day: str
    started: str
    commands: tuple[str, ...]
    readings: Mapping[Place, bool]
    beyond: tuple[Measure, ...] = ()

    def lacks(self, sheet: Sheet) -> tuple[Measure, ...]:
        """Return what the sheet asks for and was not brought within the tolerance."""
        return tuple(
            measure
            for measure in asked(sheet)
            if not all(self.readings.get(one) for one in places(sheet, measure))
        )

    def is_out(self, sheet: Sheet, measure: Measure) -> bool:
        """Whether something that the sheet asks for was measured, and its last reading was out of the tolerance."""
        return any(self.readings.get(one) is False for one in places(sheet, measure))


@dataclass(frozen=True)
class Whereabouts:
    """What is known.

    Attributes
    ----------
    now
        Date and time, UTC, ISO 8601.
    plugged
        What is at the ports.
    calibrated
        By sensor id, date and time of the calibration in use.
    sides
        By side, the sensor that was last seen there.
    flat
        The datum, None where none is kept.
    sheets
        By path, the sheets of the folder, or what is to be mended in them; that of the last visit's aircraft first.
    visit
        The last one to an aircraft whose sheet is here, else to any.
    """

    now: str
    plugged: Plugged
    calibrated: Mapping[str, str]
    sides: Mapping[Side, str]
    flat: Flat | None
    sheets: Mapping[Path, Sheet | SheetError]
    visit: Visited | None

    @property
    def fresh(self) -> bool:
        """Whether the datum is of this visit, of every sensor that works, and older than no calibration."""
        flat, working = self.flat, self.plugged.working
        return (
            flat is not None
            and same_visit(flat.date, self.now)
            and flat.sensors.issuperset(working)
            and all(self.calibrated.get(name, "") <= flat.date for name in working)
        )

    @property
    def goes_on(self) -> bool:
        """Whether the last visit is still going on."""
        return self.visit is not None and same_visit(self.visit.started, self.now)

    @property
    def sheet(self) -> tuple[Path, Sheet] | None:
        """The first sheet that is right."""
        return next(((path, one) for path, one in self.sheets.items() if isinstance(one, Sheet)), None)

    @property
    def of_the_visit(self) -> Sheet | None:
        """That sheet, if it is of the last visit's aircraft."""
        sheet = None if self.sheet is None else self.sheet[1]
        return sheet if sheet and self.visit and sheet.aircraft == self.visit.aircraft else None


def look(
    ports: Sequence[str], folder: Path, store: Store, now: str, say: Callable[[str], None]
) -> Whereabouts:
    """Return where one is.

    Parameters
    ----------
    ports
        To ask for boards; the USB serial ports where none is named.
    folder
        Of the rigging sheets.
    now
        Date and time, UTC, ISO 8601.
    say
        Told of what a board brought, see `keeping.agree`, and of a session that can't be read.

    Raises
    ------
    DamagedFile, NewerFile, StoreError
        What the store keeps can't be read.
    """
    plugged = _plugged(ports, store, say)
    sheets = {path: _sheet(path) for path in sorted(folder.glob(SHEETS))}
    here = [one.aircraft for one in sheets.values() if isinstance(one, Sheet)]
    flown = [one for one in sessions(store.root) if isinstance(one, Session)]
    flown = [one for one in flown if one.command not in ON_THE_TABLE]
    flat = _flat(store)
    since = "" if flat is None else flat.date
    of_here = [one for one in flown if one.aircraft in here]
    visit = _visited(of_here, since, say) or _visited(flown, since, say)
    return Whereabouts(
        now,
        plugged,
        {name: store.load(KIND, name)["date"] for name in store.keys(KIND)},
        load_sides(store),
        flat,
        dict(sorted(sheets.items(), key=lambda item: not _of(item[1], visit))),
        visit,
    )


def _plugged(ports: Sequence[str], store: Store, say: Callable[[str], None]) -> Plugged:
    if not (ports or discover()):
        return Plugged()
    try:
        with open_fleet(store, ports) as fleet:
            check_copies(store, fleet, say)
            return Plugged(
                tuple(f"{board_name(link)} at {link.port}" for link in fleet.boards),
                tuple(fleet.sensors.values()),
            )
    except HingelineError as trouble:
        return Plugged(trouble=trouble)


def _flat(store: Store) -> Flat | None:
    try:
        kept = load_datum(store)
    except NotStored:
        return None
    return Flat(kept.date, frozenset(kept.gravity), kept.holds)


def _sheet(path: Path) -> Sheet | SheetError:
    try:
        return load_sheet(path)
    except SheetError as problem:
        return problem


def _of(sheet: Sheet | SheetError, visit: Visited | None) -> bool:
    return isinstance(sheet, Sheet) and visit is not None and sheet.aircraft == visit.aircraft


def _visited(flown: Sequence[Session], since: str, say: Callable[[str], None]) -> Visited | None:
    """Return the last visit: all sessions of the day and the aircraft of the last one that holds anything measured.

    Neutrals that count from an earlier datum than the one of the date `since` are none any more.
    """
    last = next(filter(measured, sorted(flown, key=lambda one: one.started, reverse=True)), None)
    if last is None:
        return None
    same_day = [one for one in flown if (one.aircraft, one.day) == (last.aircraft, last.day)]
    commands: list[str] = []
    readings: dict[Place, bool] = {}
    found: dict[Measure, bool] = {}
    for session in same_day:
        try:
            run = read_results(session.folder)
        except StoreError as problem:
            say(f"Left out: {problem}")
            commands.append(session.command)
            continue
        if run.measured:
            commands.append(session.command)
        stale = run.datum is not None and run.datum.date < since
        for result in run.results:
            if isinstance(result, READINGS) and not (stale and not result.place.mode):
                readings[result.place] = all(judgement.inside for judgement in result.judgements)
            elif isinstance(result, CheckResult):
                found[Measure(result.check, result.surface)] = result.inside
    beyond = tuple(measure for measure, inside in found.items() if not inside)
    return Visited(last.aircraft, last.day, last.started, tuple(dict.fromkeys(commands)), readings, beyond)
