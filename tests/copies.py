"""Copies of the tree, whose tests run on the packages beside them: a line can be broken there."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from queue import SimpleQueue
from typing import TypeVar

ROOT = Path(__file__).parents[1]
PACKAGES = ("host", "calibration", "shared_protocol", "firmware")
CORES = 2
FAILED, PASSED = 1, 0
"""Exit statuses of pytest: https://docs.pytest.org/en/stable/reference/exit-codes.html."""
OPTIONS = ("-x", "-q", "-rfE", "-p", "no:cacheprovider")
HUNG = -1
"""In their place, where the tests took too long."""
SLOW_IMPORTS = ("pytest", "hypothesis", "numpy.testing", "scipy.optimize", "scipy.spatial.transform", "scipy.stats")
"""What nearly every test imports, and takes longer than most tests."""

Mutant = TypeVar("Mutant")


class Copies:
    """As many copies of the tree as there are cores, below a folder."""

    def __init__(self, folder: Path) -> None:
        ignored = shutil.ignore_patterns(".*", "build", "__pycache__")
        self.folders = [Path(shutil.copytree(ROOT, folder / str(number), ignore=ignored)) for number in range(CORES)]
        self._free: SimpleQueue[Path] = SimpleQueue()
        for copy in self.folders:
            self._free.put(copy)

    def try_out(self, attempt: Callable[[Mutant, Path], str], mutants: Iterable[Mutant]) -> list[str]:
        """Call `attempt` with each mutant and a copy that no other has meanwhile; return what it returns, in order."""

        def lend(mutant: Mutant) -> str:
            copy = self._free.get()
            try:
                return attempt(mutant, copy)
            finally:
                self._free.put(copy)

        with ThreadPoolExecutor(CORES) as pool:
            return list(pool.map(lend, mutants))


@contextmanager
def replaced(file: Path, content: bytes) -> Iterator[None]:
    """Give a file another content while the `with` lasts."""
    whole = file.read_bytes()
    file.write_bytes(content)
    try:
        yield
    finally:
        file.write_bytes(whole)


def run_tests(copy: Path, *arguments: str) -> tuple[int, str]:
    """Run pytest in a copy up to the first failure; return its exit status and output."""
    command = [sys.executable, "-m", "pytest", *OPTIONS, *arguments]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(_packages(copy))}
    run = subprocess.run(command, cwd=copy, env=environment, capture_output=True, text=True, check=False)
    return run.returncode, run.stdout + run.stderr


def run_tests_soon(copy: Path, *arguments: str, limit_s: float | None = None) -> tuple[int, str]:
    """Do the same in a fork of a process that has `SLOW_IMPORTS` already, and writes no bytecode of what is broken."""
    forks = multiprocessing.get_context("forkserver")
    forks.set_forkserver_preload(list(SLOW_IMPORTS))
    with tempfile.NamedTemporaryFile() as output:
        run = forks.Process(target=_run_here, args=(copy, arguments, output.name))
        run.start()
        run.join(limit_s)
        if run.is_alive():
            os.killpg(run.pid, signal.SIGKILL)
            run.join()
            return HUNG, ""
        return run.exitcode, output.read().decode(errors="replace")


def _run_here(copy: Path, arguments: tuple[str, ...], output: str) -> None:
    os.setsid()
    for stream in (1, 2):
        os.dup2(os.open(output, os.O_WRONLY | os.O_APPEND), stream)
    os.chdir(copy)
    sys.dont_write_bytecode = True
    os.environ.update(PYTHONPATH=os.pathsep.join(_packages(copy)), PYTHONDONTWRITEBYTECODE="1")
    sys.path[:] = [str(copy), *_packages(copy), *(path for path in sys.path if path not in ("", str(ROOT)))]
    for name in [name for name in sys.modules if name.partition(".")[0] == "tests"]:
        del sys.modules[name]
    import pytest

    sys.exit(pytest.main([*OPTIONS, "-p", "no:xdist", "-W", "ignore::pytest.PytestAssertRewriteWarning", *arguments]))


def _packages(copy: Path) -> list[str]:
    return [str(copy / package) for package in PACKAGES]
