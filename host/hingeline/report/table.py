"""Every reading of a session as CSV, a row for each side, and what else is for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from hingeline.advice.verdict import NO_VERDICT
from hingeline.checks.results import Reading, ThrowResult
from hingeline.checks.values import Judgement
from hingeline.report.results import Recorded, Results

COLUMNS = (
    *("run", "started", "surface", "mode", "position", "cycle", "side", "target", "tolerance", "unit"),
    *("deflection_deg", "deflection_95_deg", "travel_mm", "travel_95_mm", "gap", "verdict", "inside", "close"),
    *("reason", "advice"),
)


def readings_table(results: Results) -> bytes:
    """All readings in their order, taken again or not; `_95` is what stands behind ±."""
    return csv_table(
        COLUMNS,
        (
            _row(recorded, reading, judgement)
            for recorded in results.runs
            for reading in recorded.readings
            for judgement in reading.judgements
        ),
    )


def csv_table(columns: Iterable[str], rows: Iterable[Iterable[object]]) -> bytes:
    """Rows under a row of names, as `_cell` writes values.

    UTF-8 with CRLF (RFC 4180), and a mark at its beginning by which spreadsheets know the encoding.
    """
    written = io.StringIO()
    table = csv.writer(written)
    table.writerow(columns)
    table.writerows([_cell(value) for value in row] for row in rows)
    return written.getvalue().encode("utf-8-sig")


def _row(recorded: Recorded, reading: Reading, judgement: Judgement) -> tuple[object, ...]:
    travel, place = judgement.travel, reading.place
    is_sound = not judgement.wrong
    return (
        *(recorded.run.command, recorded.run.started, reading.surface, place.mode, place.command),
        reading.cycle if isinstance(reading, ThrowResult) else 1,
        *(judgement.name, judgement.target, judgement.tolerance, judgement.unit),
        *((judgement.measured.deg, judgement.measured.reach_deg) if is_sound else (None, None)),
        *((travel.mm, travel.reach_mm) if travel and is_sound else (None, None)),
        judgement.gap if judgement.verdict != NO_VERDICT else None,
        *(judgement.verdict, judgement.inside, judgement.close, judgement.reason, judgement.advice),
    )


def _cell(value: object) -> str:
    """A value as text: numbers with four decimals at most, truths in words; what isn't known is left empty.

    A text that a spreadsheet would take for a formula begins with an apostrophe.
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(round(value, 4) + 0.0)
    text = str(value)
    return f"'{text}" if text.startswith(("=", "+", "-", "@")) else text
