"""Sessions and their runs: where a new run goes, which there are, and which of them a user means.

A session is everything measured on one aircraft in one sitting: a folder `sessions/AIRCRAFT/START` with a file for each
run, which is what one command recorded. A run that begins less than `store.SESSION` after the run before it was last
written belongs to the same session. Runs of format 1 have a folder each; they are gathered by the same rule.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from datetime import datetime
from itertools import chain, count
from pathlib import Path
from typing import Any, NamedTuple

from hingeline.errors import NotStored
from hingeline.files.names import safe_name
from hingeline.files.whole import make_folder, sync_folder, unwritable
from hingeline.storage.clock import is_of_session, note_clock
from hingeline.storage.index import open_index
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import no_run
from hingeline.storage.runs import Run, all_runs, read_run, read_runs
from hingeline.storage.store import Store, now_text, same_session
from hingeline.units import printable

TABLE = "table"
"""In place of an aircraft: sensors that lie on a table."""
DRIFT_CHECK = ("drift-check", "closure")
"""The command that lays sensors on the flat of a datum again, and its name in version 1."""
ON_THE_TABLE = ("calibrate", "datum", *DRIFT_CHECK, "noise", "warm-up", "wiggle")
"""Commands whose runs are of no aircraft."""
WITHOUT_READINGS = (*ON_THE_TABLE, "hinge")
"""Commands that find something, of which a report tells nothing by itself."""
OLD_FILE = "session.log"
"""The one file in a folder of format 1."""
_DATED = re.compile(r"(?P<aircraft>.+)@(?P<date>\d{4}(-\d\d){0,2}(_[\d_-]+)?)")


class Session(NamedTuple):
    """The runs of one sitting, at least one, in their order."""

    runs: tuple[Run, ...]

    @property
    def aircraft(self) -> str:
        return self.runs[0].aircraft

    @property
    def name(self) -> str:
        """Date and time of its beginning, local time, as its folder is called."""
        return printable(self.runs[0].folder.name)

    @property
    def day(self) -> str:
        """The date of its beginning, ISO 8601."""
        return self.name[:10]

    @property
    def measured(self) -> bool:
        """Whether one of its runs holds anything for a report."""
        return any(run.measured for run in self.runs)


def begin_run(root: Path, aircraft: str, command: str, **fields: Any) -> Recorder:
    """Begin a run in the aircraft's last session, or in a new one where that is over; `root` is the store's.

    Its first event tells `fields`, too. Raises `StoreError` (it can't be recorded).
    """
    store, above = Store(root), root / "sessions" / safe_name(aircraft)
    note_clock(store)
    with open_index(root) as index:
        before = read_runs(above.glob("*/*.log"), index=index)
    # aircraft whose names differ in signs alone share a folder, and no session
    last = next((run for run in reversed(before) if run.aircraft == printable(aircraft)), None)
    try:
        goes_on = last is not None and is_of_session(store, last.last_written, now_text())
        path = _new_file(last.folder if last and goes_on else _new_folder(above), command)
    except OSError as error:
        raise unwritable(above, error) from error
    number = 1 + (before[-1].number if before else 0)
    return Recorder(path, number=number, command=command, aircraft=aircraft, **fields)


def _new_folder(above: Path) -> Path:
    make_folder(above)
    name = datetime.now().strftime("%Y-%m-%d_%H-%M-%S")
    for further in chain([""], map("_{}".format, count(2))):
        with suppress(FileExistsError):
            folder = above / f"{name}{further}"
            folder.mkdir()
            sync_folder(above)
            break
    return folder


def _new_file(folder: Path, command: str) -> Path:
    """Make the file of the next run: `2-throws.log` after `1-neutral.log`."""
    for number in count(len(list(folder.glob("*.log"))) + 1):
        path = folder / f"{number}-{command}.log"
        if not any(folder.glob(f"{number}-*.log")):
            with suppress(FileExistsError):  # another program was faster
                path.touch(exist_ok=False)
                break
    return path


def run_of(path: Path, command: str, surface: str | None) -> Path:
    """Choose the run to replay: the file at `path`, or in the folder there the last run of a command on a surface.

    Raises `NotStored` (there is none); `DamagedFile`, `NewerFile` (see `records.read`).
    """
    paths = _run_files(path)
    if not paths:
        raise no_run(path)
    if len(paths) == 1:
        return paths[0]
    runs = read_runs(paths)
    fitting = [run for run in runs if (run.command, run.surface) == (command, surface or "")]
    if not fitting:
        known = ", ".join(run.path.name for run in runs)
        raise NotStored(f"The session {path} has no run of {command}: {known}", "Give the file of a run")
    return fitting[-1].path


def _run_files(path: Path) -> list[Path]:
    """The files of runs at a path: itself, or those of the session in this folder."""
    if path.is_file():
        return [path]
    return sorted(path.glob("*.log")) if path.is_dir() else []


def gather(runs: Iterable[Run]) -> list[Session]:
    """Gather runs, which are in their order, into sessions.

    Folders may come from several computers, each of which numbered its runs: the runs of a folder stay together.
    """
    of_folder: dict[Path, list[Run]] = {}
    for run in runs:
        of_folder.setdefault(run.folder, []).append(run)
    sessions: list[list[Run]] = []
    for further in of_folder.values():
        if sessions and _goes_on(sessions[-1][-1], further[0]):
            sessions[-1] += further
        else:
            sessions.append(further)
    return [Session(tuple(session)) for session in sessions]


def _goes_on(before: Run, run: Run) -> bool:
    """Whether a run of format 1 belongs to the session of the one before it."""
    old = before.path.name == run.path.name == OLD_FILE
    same = before.folder.parent == run.folder.parent and before.aircraft == run.aircraft
    return old and same and same_session(before.last_written, run.started)


def latest_first(sessions: Iterable[Session]) -> list[Session]:
    """Order sessions: of one aircraft by the numbers of their runs, for a clock may be set back; else by date."""
    latest: dict[Path, str] = {}
    dates = []
    for place, session in enumerate(sessions):
        aircraft = session.runs[0].folder.parent
        latest[aircraft] = max(latest.get(aircraft, ""), session.runs[-1].started)
        dates.append((latest[aircraft], place, session))
    return [session for *_, session in sorted(dates, reverse=True)]


def find(root: Path, name: str, on_left_out: Callable[[str], None] = lambda text: None) -> Session:
    """Find the session that a user means in the store at `root`.

    The name is the file of a run, for this one alone; or the folder of a session; or an aircraft, for its latest
    session; or `AIRCRAFT@DATE` with a date that may be cut short from its end: `@2026` is the latest session of that
    year. A session in which nothing was measured is passed over where there is one with results. `on_left_out` is
    given words for each run of the aircraft, or in the folder, that can't be read.

    Raises `NotStored` (there is none); `DamagedFile`, `NewerFile` (a run that was named by its path can't be read, or
    none of those in a folder).
    """
    if paths := _run_files(Path(name)):
        left_out: list[str] = []
        read = read_runs(paths, lambda path, text: left_out.append(text)) or [read_run(paths[0])]
        for text in left_out:
            on_left_out(text)
        return Session(tuple(read))
    dated = _DATED.fullmatch(name)
    aircraft, date = (dated["aircraft"], dated["date"]) if dated else (name, "")

    def tell(path: Path, text: str) -> None:
        if is_of(path, aircraft) and path.parent.name.startswith(date):
            on_left_out(text)

    runs = all_runs(root, tell)
    sessions = gather(run for run in runs if is_of(run.path, aircraft))
    fitting = [each for each in latest_first(sessions) if any(run.folder.name.startswith(date) for run in each.runs)]
    if fitting := [session for session in fitting if session.aircraft == aircraft] or fitting:
        return next((session for session in fitting if session.measured), fitting[0])
    text = f"There is no session {printable(name)!r} in {root}"
    cure = "Give AIRCRAFT, AIRCRAFT@DATE or a session's folder; `hingeline sessions` lists them"
    if sessions:
        days = ", ".join(sorted({session.day for session in sessions}))
        raise NotStored(f"{text}: of {sessions[0].aircraft} there are {days}", cure)
    raise no_session(text, runs, cure)


def is_of(path: Path, aircraft: str) -> bool:
    """Whether the file of a run lies in an aircraft's folder, in capitals or not."""
    return safe_name(path.parent.parent.name).casefold() == safe_name(aircraft).casefold()


def no_session(text: str, runs: Iterable[Run], cure: str) -> NotStored:
    """The error for a session that is none of these runs: which aircraft there are sessions of, and what to name."""
    aircraft = sorted({run.aircraft for run in runs if run.command not in ON_THE_TABLE})
    if not aircraft:
        return NotStored(f"{text}: there are none", "Measure first; `hingeline` alone names the next step")
    return NotStored(f"{text}: there are sessions of {', '.join(aircraft)}", cure)
