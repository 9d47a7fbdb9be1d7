"""The report of an aircraft's last session, written beside the sheet: one file to keep."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from hingeline.report.drift_checks import drift_cautions
from hingeline.report.page import report_page
from hingeline.report.paper import default_name, write_page
from hingeline.report.results import read_session
from hingeline.report.unmeasured import completeness
from hingeline.storage.sessions import find
from hingeline.storage.store import default_root


def keep_report(aircraft: str, say: Callable[[str], None]) -> Path:
    """Write the report of the last session of an aircraft, and say what is still unmeasured. Raises as `find`."""
    results = read_session(find(default_root(), aircraft, say))
    complete = completeness(results)
    say("\n  ".join([complete.text, *map(": ".join, complete.by_surface)]))
    path = default_name(results.aircraft, results.day)
    write_page(path, report_page(results, drift_cautions(default_root(), results)))
    return path
