"""Runs: what each recorded of what, which there are, and which one a user means."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from hingeline.errors import DamagedFile, HingelineError, NotStored, StoreError, in_words
from hingeline.storage.records import RUN, Happening, read
from hingeline.storage.results import read_results
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


@dataclass(frozen=True)
class Run:
    """What one command recorded. All texts are printable.

    Attributes
    ----------
    path
        Of its file.
    aircraft, command, surface
        What was done on which aircraft; an empty surface stands for all.
    started
        Date and time, UTC, ISO 8601.
    tool_version
        Of the hingeline that recorded it.
    number
        Counts the runs of an aircraft: it orders them, a clock may be set back. 0 of those before there was one.
    """

    path: Path
    aircraft: str
    command: str
    surface: str
    started: str
    tool_version: str
    number: int = 0

    @property
    def folder(self) -> Path:
        """Of its session; of format 1, its own."""
        return self.path.parent

    @property
    def name(self) -> str:
        """What was done on what."""
        return f"{self.command} {self.surface}".strip()

    @property
    def measured(self) -> bool:
        """Whether it holds a reading or a check that was not taken back, or can't be read, which is told there."""
        try:
            return read_results(self.path).measured
        except StoreError:
            return True

    def to_dict(self) -> dict[str, Any]:
        """Its plain values for JSON."""
        return {
            "file": str(self.path),
            "command": self.command,
            "surface": self.surface,
            "started": self.started,
            "hingeline": self.tool_version,
        }


class Unreadable(NamedTuple):
    """A run that can't be read, and why."""

    path: Path
    problem: HingelineError

    @property
    def text(self) -> str:
        """What a person is told."""
        return printable(f"Left out: {self.problem}")


def read_run(path: Path) -> Run:
    """Read what a run is of.

    Raises
    ------
    NotStored, DamagedFile, NewerFile
        See `records.read`; a run without its first event is damaged, one without any record holds nothing.
    """
    first = next(read(path), None)
    if first is None:
        raise NotStored(f"Nothing was recorded in {path}", "Give another run")
    if not isinstance(first, Happening) or first.kind != RUN:
        raise DamagedFile(f"{path} does not begin with the event of a run", "Give the file of a whole run")
    fields = first.fields
    choices = fields.get("choices")
    surface = choices.get("surface") if isinstance(choices, dict) else None
    aircraft, command, started, version = (
        printable(str(fields.get(name, ""))) for name in ("aircraft", "command", "started", "hingeline")
    )
    number = fields.get("number")
    number = number if isinstance(number, int) else 0
    return Run(path, aircraft, command, printable(str(surface or "")), started, version, number)


def read_runs(paths: Iterable[Path]) -> list[Run | Unreadable]:
    """Read what runs are of, by aircraft, in the order in which they were recorded; what holds nothing is none."""
    runs: list[Run | Unreadable] = []
    for path in paths:
        try:
            runs.append(read_run(path))
        except NotStored:
            continue
        except StoreError as problem:
            runs.append(Unreadable(path, problem))
    return sorted(runs, key=in_order)


def in_order(run: Run | Unreadable) -> tuple[str, int, str, str]:
    """Sort runs by aircraft, in the order in which they were recorded."""
    number = run.number if isinstance(run, Run) else 0
    return run.path.parent.parent.name, number, run.path.parent.name, run.path.name


def all_runs(root: Path) -> list[Run | Unreadable]:
    """Read every run of a store, by aircraft, in the order in which they were recorded.

    Raises
    ------
    StoreError
        The store can't be read.
    """
    try:
        return read_runs(list((root / "sessions").glob("*/*/*.log")))
    except OSError as error:
        raise StoreError(f"{root} can't be read: {in_words(error)}", "Make it readable") from error


def run_files(path: Path) -> list[Path]:
    """List the files of runs at a path: itself, or those of the session in this folder."""
    if path.is_file():
        return [path]
    return sorted(path.glob("*.log")) if path.is_dir() else []


def run_of(path: Path, command: str, surface: str | None) -> Path:
    """Choose the run to replay: the file at `path`, or in the folder there the last run of a command on a surface.

    Raises
    ------
    NotStored
        There is none.
    DamagedFile, NewerFile
        See `records.read`.
    """
    paths = run_files(path)
    if not paths:
        raise NotStored(f"There is no run at {path}", "Give the file of a run, or its session's folder")
    if len(paths) == 1:
        return paths[0]
    runs = [run for run in read_runs(paths) if isinstance(run, Run)]
    fitting = [run for run in runs if (run.command, run.surface) == (command, surface or "")]
    if not fitting:
        known = ", ".join(run.path.name for run in runs)
        raise NotStored(f"The session {path} has no run of {command}: {known}", "Give the file of a run")
    return fitting[-1].path
