"""How far the job is, gathered from the ports, the store and the rigging sheets of a folder, and in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from hingeline.checks.positions import NEUTRAL, Measure, Place, asked, places
from hingeline.checks.results import CheckResult, Result, surfaces_void
from hingeline.device.description import board_name
from hingeline.device.link.ports import discover
from hingeline.errors import HingelineError, SheetError, StoreError
from hingeline.procedures.progress import Progress, SessionProgress
from hingeline.rig import load_sheet
from hingeline.rig.sheet import Sheet
from hingeline.storage.calibrations import KIND, check_copies, find_datum
from hingeline.storage.clock import as_set_now, note_clock
from hingeline.storage.keys import open_fleet
from hingeline.storage.results import READINGS, read_results
from hingeline.storage.runs import all_runs
from hingeline.storage.sessions import ON_THE_TABLE, gather, latest_first
from hingeline.storage.sides import load_sides
from hingeline.storage.store import Store
from hingeline.units import printable
from hingeline_calibration.datum import Datum

SHEETS_NAMED = 3
"""A folder may hold the sheets of a whole club."""
_CLOSED = {None: "", True: ", drift checked", False: ", does not hold"}
"""By `Datum.holds`."""
Say = Callable[[str], None]


def gather_progress(ports: Sequence[str], folder: Path, store: Store, now: str, say: Say) -> Progress:
    """Ask the boards at these ports, or at every one that there is; read the store and the sheets of a folder.

    `now` is UTC, ISO 8601; `say` is called where a board brought a calibration, and where a run can't be read.
    Raises `DamagedFile`, `NewerFile`, `StoreError` (the store can't be read).
    """
    note_clock(store)
    datum = find_datum(store)
    sheets = {path: _sheet(path) for path in sorted(folder.glob("*.rig.toml"))}
    by_aircraft = {sheet.aircraft: sheet for sheet in reversed(sheets.values()) if isinstance(sheet, Sheet)}
    session = _session_progress(store, by_aircraft, datum, say)
    first = by_aircraft.get(session.aircraft) if session else None
    return Progress(
        now,
        **_plugged(ports, store, say),  # first: a board may bring a calibration
        calibrated={name: as_set_now(store, store.load(KIND, name)["date"]) for name in store.keys(KIND)},
        sides=load_sides(store),
        datum=None if datum is None else replace(datum, date=as_set_now(store, datum.date)),
        sheets=dict(sorted(sheets.items(), key=lambda item: item[1] is not first)),
        session=session,
    )


def _plugged(ports: Sequence[str], store: Store, say: Say) -> dict[str, Any]:
    if not (ports or discover()):
        return {}
    try:
        with open_fleet(store, ports, say) as fleet:
            check_copies(store, fleet, say)
            boards = tuple(f"{board_name(link)} at {link.port}" for link in fleet.boards)
            return {"boards": boards, "sensors": tuple(fleet.sensors.values())}
    except HingelineError as trouble:
        return {"trouble": trouble}


def _sheet(path: Path) -> Sheet | SheetError:
    try:
        return load_sheet(path)
    except SheetError as problem:
        return problem


def _session_progress(
    store: Store, sheets: Mapping[str, Sheet], datum: Datum | None, say: Say
) -> SessionProgress | None:
    """Put together the last session with anything measured, of an aircraft with a sheet if there is one.

    Neutrals are measured from the datum: those of another one than this do not count.
    """
    runs = [run for run in all_runs(store.root) if run.command not in ON_THE_TABLE]
    with_sheet_first = sorted(latest_first(gather(runs)), key=lambda each: each.aircraft not in sheets)
    if (session := next((each for each in with_sheet_first if each.measured), None)) is None:
        return None
    readings: dict[Place, bool] = {}
    checks: dict[Measure, bool] = {}
    results: list[Result] = []
    for run in session.runs:
        try:
            log = read_results(run.path)
        except StoreError as problem:
            say(f"Left out: {problem}")
            continue
        stale = datum is not None and log.datum is not None and log.datum.date != datum.date
        results += log.results
        for result in log.results:
            if isinstance(result, READINGS) and not (stale and not result.place.mode):
                readings[result.place] = all(judgement.inside for judgement in result.judgements)
            elif isinstance(result, CheckResult):
                checks[Measure(result.check, result.surface)] = result.inside
    for surface in surfaces_void(results):
        readings.pop(Place(surface, "", NEUTRAL), None)
    out = [check for check, inside in checks.items() if not inside]
    missing = None
    if sheet := sheets.get(session.aircraft):
        inside_at = {measure: [readings.get(place) for place in places(sheet, measure)] for measure in asked(sheet)}
        missing = tuple(measure for measure, inside in inside_at.items() if not all(inside))
        out = [*(measure for measure in missing if False in inside_at[measure]), *out]
    commands = tuple(dict.fromkeys(run.command for run in session.runs if run.measured))
    last_written = as_set_now(store, session.runs[-1].last_written)
    return SessionProgress(session.aircraft, session.day, last_written, commands, missing, tuple(out))


def still_to_measure(store: Store, path: Path, sheet: Sheet, now: str, say: Say) -> tuple[Measure, ...]:
    """What a sheet asks for that is not within the tolerance in the session that goes on.

    Raises as `gather_progress`.
    """
    note_clock(store)
    session = _session_progress(store, {sheet.aircraft: sheet}, find_datum(store), say)
    return Progress(now, sheets={path: sheet}, session=session).to_measure


def is_drift_checked(store: Store) -> bool:
    """Whether the sensors lay on the flat of their datum again. Raises `DamagedFile`, `NewerFile`."""
    datum = find_datum(store)
    return datum is not None and datum.holds is not None


def progress_rows(job: Progress) -> dict[str, str]:
    """Put each part of the state into words."""
    files = [
        f"{path.name} ({sheet.aircraft if isinstance(sheet, Sheet) else 'to fix'})"
        for path, sheet in job.sheets.items()
    ]
    more = [f"{len(files) - SHEETS_NAMED} more"] if len(files) > SHEETS_NAMED else []
    return {
        "boards": job.trouble.message if job.trouble else ", ".join(job.boards) or "none plugged in",
        "sensors": _sensors_text(job),
        "sides": ", ".join(f"{side} {name}" for side, name in job.sides.items()) or "not known",
        "datum": _datum_text(job),
        "sheets": printable(", ".join(files[:SHEETS_NAMED] + more)) or "none in this folder",
        "session": _session_text(job.session) if job.session else "none recorded",
    }


def _sensors_text(job: Progress) -> str:
    if not job.sensors:
        days = sorted(date[:10] for date in job.calibrated.values())
        return f"{len(days)} calibrated, the last on {days[-1]}" if days else "none calibrated"
    parts = [f"{len(job.sensors)} plugged in"]
    if silent := [info.sensor_id for info in job.sensors if info.state != "ok"]:
        parts.append(f"not working: {', '.join(silent)}")
    if job.working:
        parts.append(f"not calibrated: {', '.join(job.uncalibrated)}" if job.uncalibrated else "calibrated")
    return ", ".join(parts)


def _datum_text(job: Progress) -> str:
    if job.datum is None:
        return "none"
    if job.datum_is_fresh or not job.working:
        return f"of {job.datum.date[:10]}{_CLOSED[job.datum.holds]}"
    return f"of {job.datum.date[:10]}: another session, other sensors, or older than a calibration"


def _session_text(session: SessionProgress) -> str:
    text = f"{session.aircraft} on {session.day}: {', '.join(session.commands)}"
    if session.missing is None:
        return text
    unread = [measure for measure in session.missing if measure not in session.out]
    parts = [
        f"{title}: {', '.join(map(' '.join, measures))}"
        for title, measures in (("out of tolerance", session.out), ("not measured yet", unread))
        if measures
    ]
    return "; ".join([text, *(parts or ["all within tolerance"])])
