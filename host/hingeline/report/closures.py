"""What the closures tell of the datums that the neutrals of a visit count from: they are sessions of no aircraft."""

from __future__ import annotations

from pathlib import Path

from hingeline.advice.verdict import signed
from hingeline.recording import happenings
from hingeline.report.events import Told
from hingeline.report.forms import Closure
from hingeline.report.results import Results
from hingeline.report.visits import Session, sessions


def closure_cautions(root: Path, visit: Results) -> tuple[str, ...]:
    """Return which datums did not hold when they were last closed, and what counts from them.

    Parameters
    ----------
    root
        Of the store with the closures.

    Raises
    ------
    DamagedFile, NewerFile, StoreError
        A closure can't be read.
    """
    used = {one.session.surface: one.told.datum.date for one in visit.sessions if one.told.datum}
    if not used:
        return ()
    closures = _closures(root, min(used.values()))
    return tuple(
        f"the datum of {date[:16].replace('T', ' ')} did not hold when it was closed ({_gone_text(closure)}): neutrals "
        f"of {', '.join(surface for surface, of in used.items() if of == date)} are off by up to this"
        for date in dict.fromkeys(used.values())
        if (closure := closures.get(date)) is not None and not closure.holds
    )


def _closures(root: Path, since: str) -> dict[str, Closure]:
    """Return the last closure of each datum by its date, of those done since a date."""
    told = Told()
    folders = [
        one.folder
        for one in sessions(root)
        if isinstance(one, Session) and one.command == "closure" and one.started >= since
    ]
    said = [told.take(one) for folder in folders for one in happenings(folder)]
    return {one.date: one for one in said if isinstance(one, Closure)}


def _gone_text(closure: Closure) -> str:
    return ", ".join(f"{name} gone by {signed(deg, 2)}°" for name, deg in closure.misclosure_deg.items())
