"""Runs `broken` in a process of one thread, which may fork."""

import json
import os
import subprocess
import sys
from collections.abc import Collection, Iterable
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]


def broken_off(way: str, name: str) -> dict[str, Any]:
    """Return what `broken` prints."""
    outcome = subprocess.run(
        [sys.executable, "-m", "tests.process.broken", way, name],
        cwd=ROOT,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert outcome.returncode == 0, outcome.stderr
    return json.loads(outcome.stdout)


def marked(names: Iterable[str], quick: Collection[str]) -> list[Any]:
    """Return the names as parameters, all but the quick ones marked as long."""
    return [name if name in quick else pytest.param(name, marks=pytest.mark.long) for name in names]
