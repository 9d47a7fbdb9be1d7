"""Which sessions there are, and which of them a user means: one visit is all sessions of an aircraft on one day."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from hingeline.errors import DamagedFile, HingelineError, NotStored, StoreError, in_words
from hingeline.storage.files import safe_name
from hingeline.storage.recording import FILE, Happening, read
from hingeline.storage.results import read_results
from hingeline.units import printable

ON_THE_TABLE = ("calibrate", "closure", "datum", "noise", "warm-up", "wiggle")
"""Commands whose sessions are of no aircraft."""
WITHOUT_READINGS = (*ON_THE_TABLE, "hinge")
"""Commands that find something, of which a report tells nothing by itself."""
_DATED = re.compile(r"(?P<aircraft>.+)@(?P<date>\d{4}(-\d\d){0,2}(_[\d_-]+)?)")


@dataclass(frozen=True)
class Session:
    """One recorded session.

    Attributes
    ----------
    folder
        Where it is.
    aircraft, command, surface
        What was done on which aircraft; an empty surface stands for all. Printable.
    started
        Date and time, UTC, ISO 8601. Printable.
    tool_version
        Of the hingeline that recorded it. Printable.
    number
        Counts the sessions of an aircraft: it orders them, a clock may be set back. 0 of those before there was one.
    """

    folder: Path
    aircraft: str
    command: str
    surface: str
    started: str
    tool_version: str
    number: int = 0

    @property
    def date(self) -> str:
        """Date and time as in the folder's name, local time of the day; its beginning is the day."""
        return printable(self.folder.name)

    @property
    def day(self) -> str:
        """Date, ISO 8601."""
        return self.date[:10]

    def to_dict(self) -> dict[str, Any]:
        """Return plain values for JSON."""
        return {
            "folder": str(self.folder),
            "aircraft": self.aircraft,
            "command": self.command,
            "surface": self.surface,
            "started": self.started,
            "hingeline": self.tool_version,
        }


def session(folder: Path) -> Session:
    """Return the session in a folder.

    Raises
    ------
    NotStored, DamagedFile, NewerFile
        See `recording.read`; a session without its first event is damaged, one without any record holds nothing.
    """
    first = next(read(folder), None)
    if first is None:
        raise NotStored(f"Nothing was recorded in {folder}", "Give the folder of another session")
    if not isinstance(first, Happening) or first.kind != "session":
        raise DamagedFile(
            f"{folder / FILE} does not begin with the event of a session",
            "Give the folder of a whole session",
        )
    fields = first.fields
    choices = fields.get("choices")
    surface = choices.get("surface") if isinstance(choices, dict) else None
    aircraft, command, started, version = (
        printable(str(fields.get(name, ""))) for name in ("aircraft", "command", "started", "hingeline")
    )
    number = fields.get("number")
    number = number if isinstance(number, int) else 0
    return Session(folder, aircraft, command, printable(str(surface or "")), started, version, number)


class Unreadable(NamedTuple):
    """A session that can't be read, and why."""

    folder: Path
    problem: HingelineError


def sessions(root: Path) -> tuple[Session | Unreadable, ...]:
    """Return every session of a store by aircraft, in the order in which they were recorded.

    What was ended before anything was recorded is none.

    Raises
    ------
    StoreError
        The store can't be read.
    """
    found: list[Session | Unreadable] = []
    try:
        paths = list((root / "sessions").glob(f"*/*/{FILE}"))
    except OSError as error:
        raise StoreError(f"{root} can't be read: {in_words(error)}", "Make it readable") from error
    for path in paths:
        try:
            found.append(session(path.parent))
        except NotStored:
            continue
        except StoreError as problem:
            found.append(Unreadable(path.parent, problem))
    return tuple(sorted(found, key=_place))


def _place(one: Session | Unreadable) -> tuple[str, int, str]:
    return one.folder.parent.name, one.number if isinstance(one, Session) else 0, one.folder.name


def find(root: Path, name: str, left_out: Callable[[str], None] = lambda why: None) -> tuple[Session, ...]:
    """Return the visit that a user means, its sessions in their order.

    Parameters
    ----------
    root
        Of the store.
    name
        The folder of a session, for this one alone; or an aircraft, for its latest visit; or `AIRCRAFT@DATE` with a
        date that may be cut short from its end: `@2026` is the latest visit of that year. A visit at which nothing was
        measured is passed over where there is one with results.
    left_out
        Is told of each session of the aircraft that can't be read.

    Raises
    ------
    NotStored
        There is none.
    DamagedFile, NewerFile
        The session in the folder can't be read.
    """
    if (Path(name) / FILE).is_file():
        return (session(Path(name)),)
    dated = _DATED.fullmatch(name)
    aircraft, date = (dated["aircraft"], dated["date"]) if dated else (name, "")
    wanted = safe_name(aircraft).casefold()
    everything = []
    for one in sessions(root):
        if isinstance(one, Session):
            everything.append(one)
        elif one.folder.parent.name.casefold() == wanted and one.folder.name.startswith(date):
            left_out(f"Left out: {printable(str(one.problem))}")
    of_aircraft = [one for one in everything if one.folder.parent.name.casefold() == wanted]
    fitting = [one for one in of_aircraft if one.date.startswith(date)]
    if not fitting:
        raise _nothing(root, name, everything, of_aircraft)
    days = list(dict.fromkeys(one.day for one in reversed(fitting)))
    visits = [tuple(one for one in fitting if one.day == day) for day in days]
    return next((visit for visit in visits if any(map(measured, visit))), visits[0])


def measured(one: Session) -> bool:
    """Whether a session holds anything for a report that was not taken back, or can't be read, which is told there."""
    try:
        return read_results(one.folder).measured
    except StoreError:
        return True


def there_are(recorded: Iterable[Session]) -> str:
    """Return words for the aircraft that there are sessions of."""
    aircraft = sorted({one.aircraft for one in recorded if one.command not in ON_THE_TABLE})
    return f"there are sessions of {', '.join(aircraft)}" if aircraft else "there are none"


def _nothing(root: Path, name: str, everything: list[Session], of_aircraft: list[Session]) -> NotStored:
    if of_aircraft:
        known = (
            f"of {of_aircraft[0].aircraft} there are {', '.join(sorted({one.day for one in of_aircraft}))}"
        )
    else:
        known = there_are(everything)
    return NotStored(
        f"There is no session {printable(name)!r} in {root}: {known}",
        "Give AIRCRAFT, AIRCRAFT@DATE or a session's folder; `hingeline sessions` lists them",
    )
