"""Which sessions there are, and which of them a user means: one visit is all sessions of an aircraft on one day."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hingeline.errors import DamagedFile, HingelineError, NotStored
from hingeline.files import safe_name
from hingeline.recording import FILE, Happening, read

_DATED = re.compile(r"(?P<aircraft>.+)@(?P<date>\d{4}(-\d\d){0,2}(_[\d_-]+)?)")


def printable(text: str) -> str:
    """Return a text without what steers a terminal, reorders or hides: whatever a session says may be hostile."""
    return "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in text)


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
    """

    folder: Path
    aircraft: str
    command: str
    surface: str
    started: str
    tool_version: str

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
        See `recording.read`; a session without its first event is damaged.
    """
    first = next(read(folder), None)
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
    return Session(folder, aircraft, command, printable(str(surface or "")), started, version)


def sessions(root: Path) -> Iterator[Session | HingelineError]:
    """Yield every session of a store by aircraft and date; for one that can't be read, why."""
    for path in sorted((root / "sessions").glob(f"*/*/{FILE}")):
        try:
            yield session(path.parent)
        except HingelineError as problem:
            yield problem


def find(root: Path, name: str) -> tuple[Session, ...]:
    """Return the visit that a user means, its sessions in their order.

    Parameters
    ----------
    root
        Of the store.
    name
        The folder of a session, for this one alone; or an aircraft, for its latest visit; or `AIRCRAFT@DATE` with a
        date that may be cut short from its end: `@2026` is the latest visit of that year.

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
    everything = [one for one in sessions(root) if isinstance(one, Session)]
    wanted = safe_name(aircraft).casefold()
    of_aircraft = [one for one in everything if one.folder.parent.name.casefold() == wanted]
    fitting = [one for one in of_aircraft if one.date.startswith(date)]
    if not fitting:
        raise _nothing(root, name, everything, of_aircraft)
    day = max(one.day for one in fitting)
    return tuple(sorted((one for one in fitting if one.day == day), key=lambda one: one.started))


def _nothing(root: Path, name: str, everything: list[Session], of_aircraft: list[Session]) -> NotStored:
    if of_aircraft:
        known = (
            f"of {of_aircraft[0].aircraft} there are {', '.join(sorted({one.day for one in of_aircraft}))}"
        )
    else:
        aircraft = sorted({one.aircraft for one in everything})
        known = f"there are sessions of {', '.join(aircraft)}" if aircraft else "there are none"
    return NotStored(
        f"There is no session {printable(name)!r} in {root}: {known}",
        "Give AIRCRAFT, AIRCRAFT@DATE or a session's folder; `hingeline sessions` lists them",
    )
