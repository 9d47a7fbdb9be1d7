"""What the closures tell of the datums that the neutrals of a visit count from: they are sessions of no aircraft."""

from __future__ import annotations

from pathlib import Path

from hingeline.checks.results import DriftCheck
from hingeline.errors import StoreError
from hingeline.report.results import Results
from hingeline.report.visits import Session, sessions
from hingeline.storage.results import read_results
from hingeline.units import signed


def closure_cautions(root: Path, visit: Results) -> tuple[str, ...]:
    """Return which datums did not hold when they were last closed, what counts from them, and what can't be read.

    Parameters
    ----------
    root
        Of the store with the closures.
    """
    used = {one.session.surface: one.run.datum.date for one in visit.sessions if one.run.datum}
    if not used:
        return ()
    closures: dict[str, DriftCheck] = {}
    unread = []
    recorded = (one for one in sessions(root) if isinstance(one, Session))
    for session in (one for one in recorded if one.command == "closure"):
        try:
            results = read_results(session.folder).results
            closures |= {each.date: each for each in results if isinstance(each, DriftCheck)}
        except StoreError:
            if session.started >= min(used.values()):
                unread.append(
                    f"the closure of {session.date} can't be read: whether the datum held then is not known"
                )
    gone = [
        f"the datum of {date[:16].replace('T', ' ')} did not hold when it was closed ({_gone_text(closure)}): neutrals "
        f"of {', '.join(surface for surface, of in used.items() if of == date)} are off by up to this"
        for date in dict.fromkeys(used.values())
        if (closure := closures.get(date)) is not None and not closure.holds
    ]
    return (*gone, *unread)


def _gone_text(closure: DriftCheck) -> str:
    return ", ".join(f"{name} gone by {signed(deg, 2)}°" for name, deg in closure.drift_deg.items())
