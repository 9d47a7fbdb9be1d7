"""How long a user waits before anything happens."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from time import perf_counter

from tests.bench.rows import Row
from tests.bench.timing import times

REPETITIONS = 21


def rows() -> list[Row]:
    """Return the time of `hingeline --version` beside that of importing click alone."""

    def run(*command: str) -> None:
        subprocess.run(command, stdout=subprocess.DEVNULL, check=True)

    return [
        times(
            "hingeline --version",
            "ms",
            1e3,
            lambda: run(str(Path(sys.executable).with_name("hingeline")), "--version"),
            peer="python -c 'import click'",
            theirs=lambda: run(sys.executable, "-c", "import click"),
            at_most=1.5,
            repetitions=REPETITIONS,
            clock=perf_counter,
        )
    ]
