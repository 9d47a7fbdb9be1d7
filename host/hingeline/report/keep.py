"""The report of a session, written to one file to keep."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from hingeline.report.drift_checks import drift_cautions
from hingeline.report.page import report_page
from hingeline.report.paper import default_name, write_page
from hingeline.report.results import Results, read_session
from hingeline.report.unmeasured import Completeness, completeness
from hingeline.storage.sessions import find
from hingeline.storage.store import default_root


class Kept(NamedTuple):
    """A report as it was written: `page` to `path`, of these results."""

    path: Path
    page: bytes
    results: Results
    complete: Completeness
    drift: tuple[str, ...]


def keep_report(session: str, say: Callable[[str], None], path: Path | None = None) -> Kept:
    """Write the report of a session, by its default name if no `path` is given, and say what is still unmeasured.

    Raises as `find`, `read_session` and `write_page`.
    """
    results = read_session(find(default_root(), session, say))
    drift = drift_cautions(default_root(), results)
    page = report_page(results, drift)
    complete = completeness(results)
    say("\n  ".join([complete.text, *map(": ".join, complete.by_surface)]))
    path = path or default_name(results.aircraft, results.day)
    write_page(path, page)
    return Kept(path, page, results, complete, drift)
