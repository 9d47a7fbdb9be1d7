"""The results of a visit: every position as it was found and as it was left, and what else its sessions say."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise
from typing import TypeVar

from hingeline.checks.results import (
    Caution,
    CheckResult,
    DirectionResult,
    Judgement,
    NeutralResult,
    Reading,
    SidesResult,
    ThrowResult,
)
from hingeline.device.link.decoder import Decoder, Line
from hingeline.device.samples import Sample, SensorFault
from hingeline.errors import SheetError, UsageProblem
from hingeline.report.visits import Session
from hingeline.rig import parse_sheet
from hingeline.rig.sheet import Sheet
from hingeline.storage.recording import read
from hingeline.storage.results import CalibrationInUse, DatumInUse, Entry, RunResults

_Kind = TypeVar("_Kind", NeutralResult, ThrowResult, CheckResult, DirectionResult, SidesResult, Caution)


@dataclass(frozen=True, eq=False)
class Recorded:
    """One session as it was read.

    Attributes
    ----------
    run
        Its results, and what was in use.
    samples
        By sensor id, its samples in their order.
    bad, lost
        Lines that were damaged on their way, and lines that never came.
    faults
        Sensor ids that stopped answering, with how often.
    """

    session: Session
    run: RunResults
    samples: dict[str, list[Sample]]
    bad: int
    lost: int
    faults: Counter[str]

    @property
    def entries(self) -> list[Entry]:
        """Its results, each with how many samples there were by then."""
        return self.run.entries

    def results(self, kind: type[_Kind]) -> tuple[_Kind, ...]:
        """All results of one kind."""
        return tuple(entry.result for entry in self.entries if isinstance(entry.result, kind))


def recorded(session: Session) -> Recorded:
    """Read a session. Raises `DamagedFile`, `NewerFile`, `StoreError` as `recording.read`."""
    run = RunResults()
    decoders: dict[str, Decoder] = {}
    samples: dict[str, list[Sample]] = {}
    faults: Counter[str] = Counter()
    for record in read(session.folder):
        if not isinstance(record, Line):
            run.take(record, {name: len(some) for name, some in samples.items()})
            continue
        event = decoders.setdefault(record.port, Decoder(record.port)).decode(record)
        if isinstance(event, Sample):
            samples.setdefault(event.sensor_id, []).append(event)
        elif isinstance(event, SensorFault) and event.code == "lost":
            faults[event.sensor_id] += 1
    counts = [decoder.counts for decoder in decoders.values()]
    bad, lost = sum(each.bad for each in counts), sum(sum(each.lost.values()) for each in counts)
    return Recorded(session, run, samples, bad, lost, faults)


@dataclass(frozen=True)
class Row:
    """One side, or left against right, at one position: the first reading and those taken again."""

    surface: str
    position: str
    readings: tuple[Judgement, ...]

    @property
    def found(self) -> Judgement:
        """As it was found."""
        return self.readings[0]

    @property
    def left(self) -> Judgement:
        """As it was left."""
        return self.readings[-1]

    @property
    def again(self) -> Judgement | None:
        """As it was left, where it was measured again."""
        return self.readings[-1] if len(self.readings) > 1 else None

    @property
    def key(self) -> tuple[str, str, str]:
        """What it is of."""
        return self.surface, self.position, self.found.name


@dataclass(frozen=True, eq=False)
class Results:
    """A visit: its sessions in their order, at least one.

    Attributes
    ----------
    sheet_text
        Of the rigging sheet that was used last, None where none was recorded.
    """

    sessions: tuple[Recorded, ...]
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
        """Name of the aircraft."""
        return self.sessions[0].session.aircraft

    @property
    def day(self) -> str:
        """Date of the visit, UTC, ISO 8601."""
        return self.sessions[0].session.started[:10]

    @property
    def minute(self) -> str:
        """When the visit began, UTC, to the minute."""
        return self.sessions[0].session.started[:16].replace("T", " ")

    @cached_property
    def readings(self) -> tuple[Reading, ...]:
        """Every reading at neutral and at a throw, in their order."""
        return tuple(
            entry.result
            for recorded in self.sessions
            for entry in recorded.entries
            if isinstance(entry.result, NeutralResult | ThrowResult)
        )

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """Every position, surface by surface, in the order in which they were first measured."""
        readings: dict[tuple[str, str, str], list[Judgement]] = {}
        for reading in self.readings:
            repeats = isinstance(reading, ThrowResult) and reading.cycle > 1  # nothing was adjusted since
            for judgement in reading.judgements:
                of_row = readings.setdefault((reading.surface, reading.position, judgement.name), [])
                if repeats and of_row:
                    of_row.pop()
                of_row.append(judgement)
        rows = [
            Row(surface, position, tuple(several)) for (surface, position, _), several in readings.items()
        ]
        order = list(dict.fromkeys(row.surface for row in rows))
        return tuple(sorted(rows, key=lambda row: (order.index(row.surface), row.position != "neutral")))

    @property
    def by_surface(self) -> Iterator[tuple[str, list[Row]]]:
        """Rows of each surface."""
        return ((surface, list(rows)) for surface, rows in groupby(self.rows, key=lambda row: row.surface))

    @cached_property
    def checks(self) -> dict[tuple[str, str], CheckResult]:
        """By check and surface, the last look for a fault."""
        results = (each for recorded in self.sessions for each in recorded.results(CheckResult))
        return {(result.check, result.surface): result for result in results}

    @cached_property
    def directions(self) -> tuple[DirectionResult, ...]:
        """By surface and command, the last look at the direction."""
        everything = (one for recorded in self.sessions for one in recorded.results(DirectionResult))
        return tuple({(one.surface, one.command): one for one in everything}.values())

    @cached_property
    def calibrated(self) -> dict[str, CalibrationInUse]:
        """By sensor id, the calibration in use, at the end of the visit."""
        return {name: one for recorded in self.sessions for name, one in recorded.run.calibrated.items()}

    @property
    def sensors(self) -> frozenset[str]:
        """Ids of all sensors that sat on the aircraft, fixed ones too."""
        sides = (one for recorded in self.sessions for one in recorded.results(SidesResult))
        return frozenset(seat.sensor for one in sides for seat in one.sides.values()) | set(self.calibrated)

    @property
    def datum(self) -> DatumInUse | None:
        """The datum in use, at the end of the visit."""
        return next((one.run.datum for one in reversed(self.sessions) if one.run.datum), None)

    def temperatures_c(self, sensor_id: str) -> tuple[float, float] | None:
        """Return the lowest and highest temperature that a sensor's chip had."""
        known = [
            sample.temperature_c
            for recorded in self.sessions
            for sample in recorded.samples.get(sensor_id, ())
            if sample.temperature_c is not None
        ]
        return (min(known), max(known)) if known else None

    @cached_property
    def cautions(self) -> tuple[str, ...]:
        """What a reader should know before trusting the figures."""
        said = [caution.text for recorded in self.sessions for caution in recorded.results(Caution)]
        for recorded in self.sessions:
            said += [
                f"sensor {name} stopped answering {times} times during {recorded.session.command}"
                for name, times in recorded.faults.items()
            ]
        bad, lost = (sum(getattr(one, name) for one in self.sessions) for name in ("bad", "lost"))
        if bad or lost:
            said.append(f"{bad} damaged lines and {lost} missing ones on the cables; no figure rests on them")
        if self.rows and not any(recorded.results(SidesResult) for recorded in self.sessions):
            said.append("no session tells which sensor sat on which side: deflection over time is left out")
        said += _set_back(self.sessions)
        skipped = sum((recorded.run.skipped for recorded in self.sessions), Counter[str]())
        said += [f"left out of this report: {times} events {why}" for why, times in skipped.items()]
        return tuple(dict.fromkeys(said))


def _set_back(sessions: tuple[Recorded, ...]) -> list[str]:
    """Return which sessions bear an earlier date than the one recorded before them."""
    return [
        f"{now.session.command} of {now.session.started} was recorded after {before.session.command} of "
        f"{before.session.started}: the computer's clock was set back, the order here is that of recording"
        for before, now in pairwise(sessions)
        if now.session.started < before.session.started
    ]


def results(visit: tuple[Session, ...]) -> Results:
    """Read a visit.

    Sessions in which nothing was measured are no part of its results; the sheet they were begun with counts.

    Raises
    ------
    DamagedFile, NewerFile
        A session can't be read.
    UsageProblem
        Nothing was measured on an aircraft.
    """
    everything = [recorded(one) for one in visit]
    sheets = [one.run.sheet for one in everything if one.run.sheet is not None]
    measured = tuple(one for one in everything if one.run.measured)
    read_in = Results(measured, sheets[-1] if sheets else None)
    if not read_in.sessions:
        first = visit[0]
        raise UsageProblem(
            f"The visit of {first.day or first.started} to {first.aircraft} holds no reading: "
            f"{', '.join(dict.fromkeys(one.command for one in visit))}",
            "Name one with a reading; `hingeline sessions` lists them",
        )
    return read_in
