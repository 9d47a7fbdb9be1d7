"""The index of the runs: what each is of, and whether anything was measured in it, as of when it was last read.

It holds nothing that the runs don't. An entry counts while its run has the same size, time and number on the disk; an
index that is gone, damaged or of another version is made anew, and where none can be written every run is read.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from time import time_ns
from typing import Any, NamedTuple

from hingeline import __version__
from hingeline.errors import StoreError
from hingeline.files.whole import read_ordinary, write_whole

NAME = "index.json"
MOST_BYTES = 100_000_000
SETTLED_NS = 2_000_000_000
"""The time of a file is as fine as its disk has it, FAT32's two seconds: one that was written since may change
unnoticed."""


class Facts(NamedTuple):
    """What a run says of itself; as of `storage.runs.Run`. `datum` is the date of the datum that it checked."""

    aircraft: str
    command: str
    surface: str
    started: str
    tool_version: str
    number: int
    last_written: str
    measured: bool
    datum: str


_FORMS = (str, str, str, str, str, int, str, bool, str)


class Index:
    """The facts of runs by their files, all under one folder."""

    def __init__(self, root: Path) -> None:
        self._root = root
        self._path = root / NAME
        self._kept = self._read()
        self._is_new = False

    def find(self, path: Path) -> Facts | None:
        """The facts of a run, if it is as it was when they were kept."""
        match self._kept.get(self._name(path)):
            case [list(state), list(facts)] if state == self._state(path) and _fits(facts):
                return Facts(*facts)
        return None

    def keep(self, path: Path, facts: Facts) -> None:
        """Keep the facts of a run, unless it may be in the making."""
        state = self._state(path)
        if state and state[1] < time_ns() - SETTLED_NS:
            self._kept[self._name(path)] = [state, list(facts)]
            self._is_new = True

    def forget_others(self, paths: Sequence[Path]) -> None:
        """Forget runs that are no more, `paths` being all that there are."""
        gone = self._kept.keys() - {self._name(path) for path in paths}
        for name in gone:
            del self._kept[name]
        self._is_new |= bool(gone)

    def write(self) -> None:
        """Write what is new. Where that can't be, the next one reads more."""
        if self._is_new:
            content = {"hingeline": __version__, "runs": self._kept}
            with suppress(StoreError):
                write_whole(self._path, json.dumps(content, separators=(",", ":")).encode())

    def _read(self) -> dict[str, Any]:
        try:
            content = json.loads(read_ordinary(self._path, MOST_BYTES))
        except (OSError, ValueError, RecursionError):
            return {}
        match content:
            case {"hingeline": str(version), "runs": dict(runs)} if version == __version__:
                return runs
        return {}

    def _name(self, path: Path) -> str:
        return str(path).removeprefix(f"{self._root}{os.sep}")

    def _state(self, path: Path) -> list[int]:
        try:
            status = os.stat(path)
        except OSError:
            return []
        return [status.st_size, status.st_mtime_ns, status.st_ino]


def _fits(facts: Sequence[object]) -> bool:
    return len(facts) == len(_FORMS) and all(map(isinstance, facts, _FORMS))


@contextmanager
def open_index(root: Path) -> Iterator[Index]:
    """Open the index of a store, and write it at the end."""
    index = Index(root)
    yield index
    index.write()
