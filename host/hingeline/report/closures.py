"""What the closures tell of the datums that the neutrals of a visit count from: they are sessions of no aircraft."""

from __future__ import annotations

from pathlib import Path

from hingeline.errors import StoreError
from hingeline.report.events import said
from hingeline.report.forms import Closure
from hingeline.report.results import Results
from hingeline.report.visits import Session, sessions
from hingeline.units import signed


def closure_cautions(root: Path, visit: Results) -> tuple[str, ...]:
    """Return which datums did not hold when they were last closed, what counts from them, and what can't be read.

    Parameters
    ----------
    root
        Of the store with the closures.
    """
    used = {one.session.surface: one.told.datum.date for one in visit.sessions if one.told.datum}
    if not used:
        return ()
    closures: dict[str, Closure] = {}
    unread = []
    recorded = (one for one in sessions(root) if isinstance(one, Session))
    for session in (one for one in recorded if one.command == "closure"):
        try:
            closures |= {one.date: one for one in said(session.folder)[0] if isinstance(one, Closure)}
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


def _gone_text(closure: Closure) -> str:
    return ", ".join(f"{name} gone by {signed(deg, 2)}°" for name, deg in closure.misclosure_deg.items())
