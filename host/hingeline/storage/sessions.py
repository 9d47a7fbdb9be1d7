"""Sessions and their runs: where a new run goes, which there are, and which of them a user means.

A session is everything measured on one aircraft in one sitting: a folder `sessions/AIRCRAFT/START` with a file for each
run, which is what one command recorded. A run that begins less than `store.SESSION` after the run before it belongs to
the same session. Runs of format 1 have a folder each; they are gathered by the same rule.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from hingeline.errors import NotStored, StoreError
from hingeline.storage.files import make_folder, safe_name, sync_folder, unwritable
from hingeline.storage.recording import Recorder
from hingeline.storage.runs import (
    OLD_FILE,
    ON_THE_TABLE,
    Run,
    all_runs,
    read_run,
    read_runs,
    run_files,
)
from hingeline.storage.store import now_text, same_session
from hingeline.units import printable

_DATED = re.compile(r"(?P<aircraft>.+)@(?P<date>\d{4}(-\d\d){0,2}(_[\d_-]+)?)")


class Session(NamedTuple):
    """The runs of one sitting, at least one, in their order."""

    runs: tuple[Run, ...]

    @property
    def aircraft(self) -> str:
        """Name of the aircraft."""
        return self.runs[0].aircraft

    @property
    def name(self) -> str:
        """Date and time of its beginning, local time, as its folder is called."""
        return printable(self.runs[0].folder.name)

    @property
    def day(self) -> str:
        """The date of its beginning, ISO 8601."""
        return self.name[:10]

    def holds(self, date: str) -> bool:
        """Whether a run of it is in a folder with this date, which may be cut short from its end."""
        return any(run.folder.name.startswith(date) for run in self.runs)

    @property
    def measured(self) -> bool:
        """Whether one of its runs holds anything for a report."""
        return any(run.measured for run in self.runs)


def begin_run(root: Path, aircraft: str, command: str, **fields: Any) -> Recorder:
    """Begin a run in the aircraft's last session, or in a new one where that is over.

    Parameters
    ----------
    root
        Of the store.
    fields
        What else its first event is to tell.

    Raises
    ------
    StoreError
        It can't be recorded.
    """
    above = root / "sessions" / safe_name(aircraft)
    before = [each for each in read_runs(above.glob("*/*.log")) if isinstance(each, Run)]
    # aircraft whose names differ in signs alone share a folder, and no session
    last = next((run for run in reversed(before) if run.aircraft == printable(aircraft)), None)
    try:
        goes_on = last is not None and same_sitting(last.started, now_text())
        path = _new_file(last.folder if last and goes_on else _new_folder(above), command)
    except OSError as error:
        raise unwritable(above, error) from error
    number = 1 + (before[-1].number if before else 0)
    return Recorder(path, number=number, command=command, aircraft=aircraft, **fields)


def _new_folder(above: Path) -> Path:
    name = datetime.now().strftime("%Y-%m-%d_%H-%M-%S")
    make_folder(above)
    for number in range(1, 1000):
        folder = above / (name if number == 1 else f"{name}_{number}")
        try:
            folder.mkdir()
        except FileExistsError:
            continue
        sync_folder(above)
        return folder
    raise StoreError(f"{above} holds a thousand sessions of this second", "Wait a second")


def _new_file(folder: Path, command: str) -> Path:
    """Make the file of the next run: `2-throws.log` after `1-neutral.log`."""
    number = len(list(folder.glob("*.log")))
    while True:
        number += 1
        path = folder / f"{number}-{command}.log"
        if any(folder.glob(f"{number}-*.log")):
            continue
        try:
            path.touch(exist_ok=False)
        except FileExistsError:
            continue
        return path


def same_sitting(then: str, now: str) -> bool:
    """Whether two dates, of which a file may tell anything, are of one session."""
    try:
        return same_session(then, now)
    except (ValueError, TypeError):
        return False


def gather(runs: Iterable[Run]) -> Iterator[Session]:
    """Gather runs, which are in their order, into sessions.

    Folders may come from several computers, each of which numbered its runs: the runs of a folder stay together.
    """
    of_folder: dict[Path, list[Run]] = {}
    for run in runs:
        of_folder.setdefault(run.folder, []).append(run)
    session: list[Run] = []
    for further in of_folder.values():
        if session and not _goes_on(session[-1], further[0]):
            yield Session(tuple(session))
            session = []
        session += further
    if session:
        yield Session(tuple(session))


def _goes_on(before: Run, run: Run) -> bool:
    """Whether a run of format 1 belongs to the session of the one before it."""
    old = before.path.name == run.path.name == OLD_FILE
    same = before.folder.parent == run.folder.parent and before.aircraft == run.aircraft
    return old and same and same_sitting(before.started, run.started)


def find(root: Path, name: str, on_left_out: Callable[[str], None] = lambda text: None) -> Session:
    """Find the session that a user means.

    Parameters
    ----------
    root
        Of the store.
    name
        The file of a run, for this one alone; or the folder of a session; or an aircraft, for its latest session; or
        `AIRCRAFT@DATE` with a date that may be cut short from its end: `@2026` is the latest session of that year. A
        session in which nothing was measured is passed over where there is one with results.
    on_left_out
        Is told of each run of the aircraft, or in the folder, that can't be read.

    Raises
    ------
    NotStored
        There is none.
    DamagedFile, NewerFile
        A run that was named by its path can't be read, or none of those in a folder.
    """
    if paths := run_files(Path(name)):
        return _read_paths(paths, on_left_out)
    dated = _DATED.fullmatch(name)
    aircraft, date = (dated["aircraft"], dated["date"]) if dated else (name, "")
    wanted = safe_name(aircraft).casefold()
    readable: list[Run] = []
    for run in all_runs(root):
        if isinstance(run, Run):
            readable.append(run)
        elif run.path.parent.parent.name.casefold() == wanted and run.path.parent.name.startswith(date):
            on_left_out(run.text)
    of_aircraft = list(gather(run for run in readable if run.folder.parent.name.casefold() == wanted))
    fitting = [session for session in reversed(of_aircraft) if session.holds(date)]
    fitting = [session for session in fitting if session.aircraft == aircraft] or fitting
    if not fitting:
        raise _nothing(root, name, readable, of_aircraft)
    return next((session for session in fitting if session.measured), fitting[0])


def _read_paths(paths: list[Path], on_left_out: Callable[[str], None]) -> Session:
    runs = read_runs(paths)
    readable = tuple(run for run in runs if isinstance(run, Run))
    if not readable:
        return Session((read_run(paths[0]),))
    for run in runs:
        if not isinstance(run, Run):
            on_left_out(run.text)
    return Session(readable)


def there_are(runs: Iterable[Run]) -> str:
    """Say which aircraft there are sessions of."""
    aircraft = sorted({run.aircraft for run in runs if run.command not in ON_THE_TABLE})
    return f"there are sessions of {', '.join(aircraft)}" if aircraft else "there are none"


def _nothing(root: Path, name: str, runs: list[Run], of_aircraft: list[Session]) -> NotStored:
    if of_aircraft:
        days = sorted({session.day for session in of_aircraft})
        known = f"of {of_aircraft[0].aircraft} there are {', '.join(days)}"
    else:
        known = there_are(runs)
    return NotStored(
        f"There is no session {printable(name)!r} in {root}: {known}",
        "Give AIRCRAFT, AIRCRAFT@DATE or a session's folder; `hingeline sessions` lists them",
    )
