"""What the number of sessions costs the commands that look through them, and what a long run costs."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.bench import stream
from tests.bench.rows import Row
from tests.bench.sensors import keep

from hingeline.storage.index import NAME

GOLDEN = Path(__file__).parents[1] / "data" / "formats" / "2" / "home"
AIRCRAFT = "Moss Lantern"
COUNTS = (10, 100, 1_000, 2_000, 10_000)
COMMANDS = {
    "sessions": ["sessions"],
    "report": ["report", AIRCRAFT, "-o", os.devnull],
    "compare": ["compare", f"{AIRCRAFT}@2025-09", AIRCRAFT],
    "hingeline": ["here", "--port", "nowhere"],
}
AT_MOST_S, AT_MOST_COUNT = 1.0, 2_000
"""With so many sessions; of more, as much again is allowed."""
LONG_BYTES = 1_000_000_000


def rows() -> Iterator[Row]:
    """Yield the time of each command with so many sessions, once the index knows them; and of a run of 1 GB."""
    for count in COUNTS:
        with tempfile.TemporaryDirectory() as folder:
            home = Path(folder)
            fill(home, count)
            _run(home, ["sessions"])
            for name, arguments in COMMANDS.items():
                yield _row(name, count, _run(home, arguments))
        with tempfile.TemporaryDirectory() as folder:
            home = Path(folder)
            fill(home, count, "table")
            yield _row("datum", count, _take_datum(home))
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        lengthen(fill(home, 1))
        for name in ("sessions", "hingeline"):
            (home / NAME).unlink(missing_ok=True)
            seconds = _run(home, COMMANDS[name])
            yield Row(f"{name} with a run of 1 GB, not yet in the index", seconds, "s", at_most=AT_MOST_S)


def _row(name: str, count: int, seconds: float) -> Row:
    at_most = AT_MOST_S if count <= AT_MOST_COUNT else 2 * AT_MOST_S
    return Row(f"{name} with {count:,} sessions", seconds, "s", at_most=at_most)


def _take_datum(home: Path) -> float:
    """Return the time of the processor of a datum that is taken: twice, since the first one reads all runs."""
    with stream.Boards(stream.LINES_HZ) as boards:
        keep(home, boards.sensors)
        arguments = ["datum", "--no-input", *(word for port in boards.ports for word in ("--port", port))]
        _run(home, arguments)
        return _run(home, arguments)


def fill(home: Path, count: int, aircraft: str = "Moss-Lantern") -> Path:
    """Fill a store with so many sessions in the folder of an aircraft, written long ago; return the last one's run."""
    shutil.copytree(GOLDEN, home, dirs_exist_ok=True)
    golden = next(home.glob("sessions/*/*/*.log"))
    for number in range(count):
        folder = home / "sessions" / aircraft / f"2025-10-01_00-00-00_{number}"
        folder.mkdir(parents=True)
        path = Path(shutil.copy(golden, folder))
        os.utime(path, (1e9, 1e9))
    return path


def lengthen(path: Path) -> None:
    """Lengthen a run by received lines to 1 GB."""
    line = b"L 4144947324283 /dev/ttyACM0 s 104 3 39504833 4 6234 -5989 72063 2200*7490C667\n"
    block = line * 10_000
    with open(path, "ab") as file:
        for _ in range(LONG_BYTES // len(block)):
            file.write(block)
    os.utime(path, (1e9, 1e9))


def _run(home: Path, arguments: list[str]) -> float:
    """Return the time of the processor: other programs of the machine don't count."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {**os.environ, "HINGELINE_HOME": str(home)}
    command = [sys.executable, "-m", "hingeline", *arguments]
    subprocess.run(command, env=environment, capture_output=True, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
