"""The results of a session: every position as it was found and as it was left, and what else its runs say."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby, pairwise

from hingeline.advice.verdict import NO_VERDICT
from hingeline.checks.positions import NEUTRAL
from hingeline.checks.results import (
    Caution,
    CheckResult,
    DirectionResult,
    Reading,
    SettingSheet,
    SidesResult,
    ThrowResult,
    surfaces_void,
)
from hingeline.checks.values import Judgement
from hingeline.device.link.decoder import SampleLines
from hingeline.device.link.replay import Decoders
from hingeline.device.samples import Sample, SensorFault
from hingeline.errors import SheetError, UsageProblem
from hingeline.report.lines import Lines
from hingeline.rig import parse_sheet
from hingeline.rig.sheet import Sheet
from hingeline.storage.records import Happening, read_fast
from hingeline.storage.results import DatumInUse, Kind, RunResults
from hingeline.storage.runs import Run
from hingeline.storage.sessions import Session
from hingeline_calibration.calibration import Calibration


@dataclass(eq=False, kw_only=True)
class Recorded(RunResults):
    """One run as it was read: its results, and by sensor id its sample lines, as far as a report needs them.

    `bad` lines were damaged on their way, `lost` ones never came; `faults` are sensor ids that stopped answering, with
    how often.
    """

    run: Run
    lines: dict[str, Lines] = field(default_factory=dict)
    bad: int = 0
    lost: int = 0
    faults: Counter[str] = field(default_factory=Counter)
    is_cut: bool = False  # there were readings after more lines than are kept


def read_recorded(run: Run) -> Recorded:
    """Read a run. Raises `DamagedFile`, `NewerFile`, `StoreError` as `records.read`."""
    recorded, decoders = Recorded(run=run), Decoders()
    lines = recorded.lines
    for record in read_fast(run.path):
        if isinstance(record, SampleLines):
            placed = decoders.place(record)
            for sensor_id, places in placed.by_sensor().items():
                lines.setdefault(sensor_id, Lines()).add(placed.rows(places))
        elif isinstance(record, Happening):
            _take(recorded, record)
        else:
            event = decoders[record.port].decode(record)
            if isinstance(event, Sample):
                lines.setdefault(event.sensor_id, Lines()).add_sample(event)
            elif isinstance(event, SensorFault) and event.code == "lost":
                recorded.faults[event.sensor_id] += 1
    for decoder in decoders.values():
        recorded.bad += decoder.counts.bad
        recorded.lost += sum(decoder.counts.lost.values())
    return recorded


def _take(recorded: Recorded, event: Happening) -> None:
    """Take an event between the lines."""
    before, lines = len(recorded.entries), recorded.lines.values()
    recorded.take(event, {name: each.count for name, each in recorded.lines.items()})
    for entry in recorded.entries[before:]:
        if isinstance(entry.result, SidesResult):
            for each in lines:
                each.begin()
        elif isinstance(entry.result, ThrowResult):
            recorded.is_cut |= any(each.is_cut for each in lines)


@dataclass(frozen=True)
class Row:
    """One side, or left against right, at one position: the first reading and those taken again."""

    surface: str
    position: str
    readings: tuple[Judgement, ...]

    @property
    def as_found(self) -> Judgement:
        return self.readings[0]

    @property
    def as_left(self) -> Judgement:
        return self.readings[-1]

    @property
    def again(self) -> Judgement | None:
        """As it was left, where it was measured again."""
        return self.as_left if len(self.readings) > 1 else None

    @property
    def key(self) -> tuple[str, str, str]:
        return self.surface, self.position, self.as_found.name


@dataclass(frozen=True, eq=False)
class Results:
    """The results of a session, called as its folder, of at least one run with results, in their order.

    `sheet_text` is that of the rigging sheet that was used last, None where none was recorded.
    """

    name: str
    runs: tuple[Recorded, ...]
    sheet_text: str | None = None

    @cached_property
    def sheet(self) -> Sheet | SheetError | None:
        """That sheet, or what is to be mended in it."""
        try:
            return None if self.sheet_text is None else parse_sheet(self.sheet_text, "the recorded sheet")
        except SheetError as problem:
            return problem

    @property
    def aircraft(self) -> str:
        return self.runs[0].run.aircraft

    @property
    def day(self) -> str:
        """Date of its beginning, UTC, ISO 8601."""
        return self.runs[0].run.started[:10]

    @property
    def minute(self) -> str:
        """When it began, UTC, to the minute."""
        return to_minute(self.runs[0].run.started)

    @property
    def readings(self) -> list[Reading]:
        """Every reading at neutral and at a throw, in their order."""
        return [reading for recorded in self.runs for reading in recorded.readings]

    def every(self, kind: type[Kind]) -> list[Kind]:
        """Every result of one kind, in their order."""
        return [result for recorded in self.runs for result in recorded.every(kind)]

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every position, surface by surface, in the order in which they were first measured."""
        readings: dict[tuple[str, str, str], list[Judgement]] = {}
        for recorded in self.runs:
            of_run: dict[tuple[str, str, str], int] = {}
            for reading in recorded.readings:
                cycle = reading.cycle if isinstance(reading, ThrowResult) else 1
                for judgement in reading.judgements:
                    key = reading.surface, reading.position, judgement.name
                    of_row = readings.setdefault(key, [])
                    if cycle > of_run.get(key, cycle):  # nothing was adjusted since
                        of_row.pop()
                    of_row.append(judgement)
                    of_run[key] = cycle
        void = surfaces_void(result for recorded in self.runs for result in recorded.results)
        for (surface, position, _), several in readings.items():
            if position == NEUTRAL and surface in void:
                several[-1] = _voided(several[-1])
        rows = [Row(surface, position, tuple(several)) for (surface, position, _), several in readings.items()]
        order = list(dict.fromkeys(row.surface for row in rows))
        return tuple(sorted(rows, key=lambda row: (order.index(row.surface), row.position != "neutral")))

    @property
    def by_surface(self) -> Iterator[tuple[str, list[Row]]]:
        return ((surface, list(rows)) for surface, rows in groupby(self.rows, key=lambda row: row.surface))

    @cached_property
    def checks(self) -> dict[tuple[str, str], CheckResult]:
        """By check and surface, the last look for a fault."""
        return {(result.check, result.surface): result for result in self.every(CheckResult)}

    @property
    def settings(self) -> list[SettingSheet]:
        """Of each surface with something to turn, the last setting sheet."""
        last = {sheet.surface: sheet for sheet in self.every(SettingSheet)}
        return [sheet for sheet in last.values() if sheet.changes or sheet.remaining]

    @property
    def directions(self) -> list[DirectionResult]:
        """Of each surface and command, the last look at the direction."""
        return list({(result.surface, result.command): result for result in self.every(DirectionResult)}.values())

    @cached_property
    def calibrations(self) -> dict[str, Calibration]:
        """By sensor id, the calibration in use, at the end of the session."""
        return {name: each for recorded in self.runs for name, each in recorded.calibrations.items()}

    @property
    def sensors(self) -> frozenset[str]:
        """Ids of all sensors that sat on the aircraft, fixed ones too."""
        seats = (seat for each in self.every(SidesResult) for seat in each.sides.values())
        return frozenset(seat.sensor for seat in seats) | set(self.calibrations)

    @property
    def datum(self) -> DatumInUse | None:
        """The datum in use, at the end of the session."""
        return next((recorded.datum for recorded in reversed(self.runs) if recorded.datum), None)

    def range_c(self, sensor_id: str) -> tuple[float, float] | None:
        """The lowest and the highest temperature of a sensor's chip, None where it told none."""
        lines = (recorded.lines.get(sensor_id) for recorded in self.runs)
        ranges = [each.range_c for each in lines if each is not None and each.range_c is not None]
        return (min(low_c for low_c, _ in ranges), max(high_c for _, high_c in ranges)) if ranges else None

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        """What a reader should know before trusting the figures."""
        cautions = [caution.text for caution in self.every(Caution)]
        cautions += [
            f"sensor {name} stopped answering {times} times during {recorded.run.command}"
            for recorded in self.runs
            for name, times in recorded.faults.items()
        ]
        cautions += [
            f"{recorded.run.command} recorded more lines than are drawn: deflection over time is left out"
            for recorded in self.runs
            if recorded.is_cut
        ]
        bad, lost = sum(each.bad for each in self.runs), sum(each.lost for each in self.runs)
        if bad or lost:
            cautions.append(f"{bad} damaged lines and {lost} missing ones on the cables; no figure rests on them")
        if self.rows and not any(self.every(SidesResult)):
            cautions.append("no run records which sensor sat on which side: deflection over time is left out")
        cautions += [
            f"{now.run.command} of {now.run.started} was recorded after {before.run.command} of "
            f"{before.run.started}: the computer's clock was set back, the order here is that of recording"
            for before, now in pairwise(self.runs)
            if now.run.started < before.run.started
        ]
        skipped = sum((recorded.skipped for recorded in self.runs), Counter[str]())
        cautions += [f"left out of this report: {times} events {why}" for why, times in skipped.items()]
        return tuple(dict.fromkeys(cautions))


def _voided(judgement: Judgement) -> Judgement:
    """What is left of a neutral that was measured before it was known where the hinge runs in its sensors."""
    reason, cure = "the hinge was found after it", "measure the neutral again: `hingeline neutral`"
    return replace(judgement, verdict=NO_VERDICT, inside=False, reason=reason, cure=cure)


def to_minute(date: str) -> str:
    """Write a date in ISO 8601 to the minute."""
    return date[:16].replace("T", " ")


def read_session(session: Session) -> Results:
    """Read a session; runs in which nothing was measured are no part of its results, but their sheet counts.

    Raises `DamagedFile`, `NewerFile` (a run can't be read); `UsageProblem` (nothing was measured on an aircraft).
    """
    everything = [read_recorded(run) for run in session.runs]
    sheets = [each.sheet for each in everything if each.sheet is not None]
    measured = tuple(each for each in everything if each.measured)
    if not measured:
        raise UsageProblem(
            f"The session of {session.name} of {session.aircraft} holds no reading: "
            f"{', '.join(dict.fromkeys(run.command for run in session.runs))}",
            "Name one with a reading; `hingeline sessions` lists them",
        )
    return Results(session.name, measured, sheets[-1] if sheets else None)
