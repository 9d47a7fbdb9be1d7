"""Runs: what each is of, when it was recorded, and whether anything was measured in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path

from hingeline.errors import DamagedFile, NotStored, StoreError
from hingeline.files.whole import unreadable
from hingeline.storage.index import Facts, Index, open_index
from hingeline.storage.records import RUN, Happening, length_s, read
from hingeline.units import printable

OnLeftOut = Callable[[Path, str], None]
"""Is given the file of each run that can't be read, and words for why."""


@dataclass(frozen=True)
class Run:
    """What one command recorded on an aircraft; an empty surface stands for all. All texts are printable.

    `started` is UTC, ISO 8601; `tool_version` of the hingeline that recorded it. The number counts the runs of an
    aircraft, from 1; old runs have 0. It orders them: a clock may be set back.
    """

    path: Path
    aircraft: str
    command: str
    surface: str
    started: str
    tool_version: str
    number: int = 0
    facts: Facts | None = field(default=None, compare=False, repr=False)

    @property
    def folder(self) -> Path:
        """Of its session; of format 1, its own."""
        return self.path.parent

    @property
    def name(self) -> str:
        """What was done on what."""
        return f"{self.command} {self.surface}".strip()

    @property
    def last_written(self) -> str:
        """When its last record was written, UTC, ISO 8601; when it began, where that can't be told."""
        if self.facts is not None:
            return self.facts.last_written
        try:
            began = datetime.fromisoformat(self.started)
            return (began + timedelta(seconds=length_s(self.path))).isoformat(timespec="seconds")
        except (ValueError, OverflowError):
            return self.started

    @property
    def measured(self) -> bool:
        """Whether it holds a reading or a check that was not taken back, or can't be read, which is told there."""
        if self.facts is not None:
            return self.facts.measured
        try:
            return read_facts(self.path)[0]
        except StoreError:
            return True


def read_run(path: Path) -> Run:
    """Read what a run is of.

    Raises as `records.read`; a run without its first event is damaged, one without any record is `NotStored`.
    """
    first = next(read(path), None)
    if first is None:
        raise NotStored(f"Nothing was recorded in {path}", "Give another run")
    if not isinstance(first, Happening) or first.kind != RUN:
        raise DamagedFile(f"{path} does not begin with the event of a run", "Give the file of a whole run")
    choices, number = first.fields.get("choices"), first.fields.get("number")
    surface = choices.get("surface") if isinstance(choices, dict) else None
    fields = {**first.fields, "surface": surface or ""}
    aircraft, command, surface, started, version = (
        printable(str(fields.get(name, ""))) for name in ("aircraft", "command", "surface", "started", "hingeline")
    )
    return Run(path, aircraft, command, surface, started, version, number if isinstance(number, int) else 0)


def read_runs(
    paths: Iterable[Path], on_left_out: OnLeftOut = lambda path, text: None, index: Index | None = None
) -> list[Run]:
    """Read what runs are of, by aircraft, in the order in which they were recorded; what holds nothing is none."""
    runs: list[Run] = []
    for path in sorted(paths):
        try:
            runs.append(read_run(path) if index is None else _indexed(path, index))
        except NotStored:
            continue
        except StoreError as problem:
            on_left_out(path, printable(f"Left out: {problem}"))
    return sorted(runs, key=lambda run: (run.folder.parent.name, run.number, run.folder.name, run.path.name))


def _indexed(path: Path, index: Index) -> Run:
    """What a run is of, by the index, else read and kept there. Raises as `read_run`."""
    if (facts := index.find(path)) is not None:
        return Run(path, *facts[:6], facts)
    run = read_run(path)
    with suppress(StoreError):  # what can't be read is no fact
        about = (run.aircraft, run.command, run.surface, run.started, run.tool_version, run.number)
        facts = Facts(*about, run.last_written, *read_facts(path))
        index.keep(path, facts)
        return replace(run, facts=facts)
    return run


def read_facts(path: Path) -> tuple[bool, str]:
    """Read whether anything was measured in a run, and the date of the datum that it checked. Raises as `read_run`."""
    from hingeline.checks.results import DriftCheck
    from hingeline.storage.results import read_results  # with the numerical stack: the index knows most runs

    results = read_results(path)
    return results.measured, "".join(check.date for check in results.every(DriftCheck)[-1:])


def all_runs(root: Path, on_left_out: OnLeftOut = lambda path, text: None) -> list[Run]:
    """Read every run of a store, ordered as by `read_runs`. Raises `StoreError` (the store can't be read)."""
    try:
        with open_index(root) as index:
            paths = sorted((root / "sessions").glob("*/*/*.log"))
            index.forget_others(paths)
            return read_runs(paths, on_left_out, index)
    except OSError as error:
        raise unreadable(root, error) from error
