"""A pytest plugin: notes which functions each test calls and how long it takes, and runs the tests in a given order.

`-p tests.calls --calls FOLDER` writes a JSON file there for each process of pytest; `read_calls` reads them.
`-p tests.calls --order FILE` runs the tests whose ids stand in it, one a line, and no others.
"""

from __future__ import annotations

import inspect
import json
import os
import sys
import threading
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter
from types import CodeType, FrameType
from typing import NamedTuple

import pytest


class Function(NamedTuple):
    """Where a function stands: its file, from the root of the tree, and its first and last line."""

    file: str
    first: int
    last: int


class Call(NamedTuple):
    """What a test that passed called, in its own process, and how long it took."""

    seconds: float
    functions: frozenset[Function]


class Recorder:
    """Notes the code of every function that is called while a test runs."""

    def __init__(self, folder: Path, root: Path) -> None:
        self._folder, self._root = folder, root
        self._of: dict[str, set[CodeType]] = defaultdict(set)
        self._seconds: dict[str, float] = {}
        self._failed: set[str] = set()
        self._current: set[CodeType] = set()
        threading.settrace(self._trace)
        sys.settrace(self._trace)

    def _trace(self, frame: FrameType, _event: str, _argument: object) -> None:
        self._current.add(frame.f_code)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        """Note what this test calls."""
        self._current = self._of[item.nodeid]
        start = perf_counter()
        result = yield
        self._seconds[item.nodeid] = perf_counter() - start
        return result

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note which fail."""
        if report.failed:
            self._failed.add(report.nodeid)

    def pytest_sessionfinish(self) -> None:
        """Write what was noted of those that passed."""
        sys.settrace(None)
        threading.settrace(None)  # type: ignore[arg-type]
        noted = {
            test: (self._seconds[test], self._places(codes))
            for test, codes in self._of.items()
            if test not in self._failed
        }
        (self._folder / f"{os.getpid()}.json").write_text(json.dumps(noted), encoding="utf-8")

    def _places(self, codes: set[CodeType]) -> list[Function]:
        return [
            Function(
                os.path.relpath(code.co_filename, self._root),
                code.co_firstlineno,
                max(line for _, _, line in code.co_lines() if line),
            )
            for code in codes
            if code.co_flags & inspect.CO_OPTIMIZED and code.co_filename.startswith(str(self._root))
        ]


def read_calls(folder: Path) -> dict[str, Call]:
    """Read what a run with `--calls` noted, by the ids of the tests."""
    return {
        test: Call(seconds, frozenset(Function(*place) for place in places))
        for file in folder.glob("*.json")
        for test, (seconds, places) in json.loads(file.read_text(encoding="utf-8")).items()
    }


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add both options."""
    parser.addoption("--calls", type=Path)
    parser.addoption("--order", type=Path)


def pytest_configure(config: pytest.Config) -> None:
    """Begin to note."""
    folder = config.getoption("--calls")
    if folder:
        config.pluginmanager.register(Recorder(folder, config.rootpath))


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Choose the tests and put them in order."""
    order = config.getoption("--order")
    if order:
        by_id = {item.nodeid: item for item in items}
        items[:] = [by_id[test] for test in order.read_text(encoding="utf-8").splitlines() if test in by_id]
