"""Copies of the tree, whose tests run on the packages beside them: a line can be broken there."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
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
HUNG = -1
"""In their place, where the tests took too long."""

Mutant = TypeVar("Mutant")


class Copies:
    """As many copies of the tree as there are cores, below a folder."""

    def __init__(self, folder: Path) -> None:
        ignored = shutil.ignore_patterns(".*", "build", "__pycache__")
        self._free: SimpleQueue[Path] = SimpleQueue()
        for number in range(CORES):
            self._free.put(Path(shutil.copytree(ROOT, folder / str(number), ignore=ignored)))

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


def run_tests(copy: Path, *arguments: str, limit_s: float | None = None) -> tuple[int, str]:
    """Run pytest in a copy up to the first failure; return its exit status and output."""
    environment = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join(str(copy / package) for package in PACKAGES),
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-rfE", "-p", "no:cacheprovider", *arguments]
    try:
        run = subprocess.run(
            command, cwd=copy, env=environment, capture_output=True, text=True, check=False, timeout=limit_s
        )
    except subprocess.TimeoutExpired:
        return HUNG, ""
    return run.returncode, run.stdout + run.stderr
