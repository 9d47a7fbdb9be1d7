"""What drift checks tell of the datums that the neutrals of a session count from: they are runs of no aircraft."""

from __future__ import annotations

from pathlib import Path

from hingeline.checks.results import DriftCheck
from hingeline.errors import StoreError
from hingeline.report.results import Results, to_minute
from hingeline.storage.results import read_results
from hingeline.storage.runs import all_runs
from hingeline.storage.sessions import DRIFT_CHECK
from hingeline.units import signed


def drift_cautions(root: Path, session: Results) -> tuple[str, ...]:
    """Say which datums did not hold at their last drift check in the store at `root`, and what counts from them.

    A drift check that can't be read is named.
    """
    used = {each.run.surface: each.datum.date for each in session.runs if each.datum}
    if not used:
        return ()
    checks: dict[str, DriftCheck] = {}
    unread = []
    for run in (run for run in all_runs(root) if run.command in DRIFT_CHECK):
        if run.facts is not None and run.facts.datum not in used.values():
            continue
        try:
            checks |= {check.date: check for check in read_results(run.path).every(DriftCheck)}
        except StoreError:
            if run.started >= min(used.values()):
                check_of = f"the drift check of {to_minute(run.started)}"
                unread.append(f"{check_of} can't be read: whether the datum held then is not known")
    gone = []
    for date in dict.fromkeys(used.values()):
        if (check := checks.get(date)) is not None and not check.holds:
            drifts = ", ".join(f"{name} {signed(deg, 2)}°" for name, deg in check.drift_deg.items())
            surfaces = ", ".join(surface for surface, of in used.items() if of == date)
            held = f"the datum of {to_minute(date)} did not hold at its drift check ({drifts})"
            gone.append(f"{held}: neutrals of {surfaces} are off by up to this")
    return (*gone, *unread)
