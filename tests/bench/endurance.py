"""What `watch` and `throws` hold on to in an hour with eight sensors: memory, threads and descriptors (Linux).

The hour is of the boards' clocks, as fast as the host takes it: about four minutes for each command. Once a minute
of it two sensors of each board tilt and come back, as a surface that moves.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.bench import stream
from tests.bench.rows import Row

COMMANDS = {"watch": ("watch", "--no-input"), "throws": stream.THROWS}
FIRST_MIN, LAST_MIN = 5, 60


class Held(NamedTuple):
    """What a process holds on to."""

    memory_mb: float
    threads: int
    descriptors: int


def rows() -> Iterator[Row]:
    """Yield what each command holds on to after an hour, beside what it did after five minutes."""
    for name, arguments in COMMANDS.items():
        first, last = hold(arguments)
        what = f"{name}, {stream.SENSORS} sensors"
        beside = f"after {FIRST_MIN} minutes"
        yield Row(f"{what}: memory after an hour", last.memory_mb, "MB", beside, first.memory_mb, at_most=1.05)
        yield Row(f"{what}: threads after an hour", last.threads, "", beside, first.threads, at_most=1.0)
        yield Row(f"{what}: descriptors after an hour", last.descriptors, "", beside, first.descriptors, at_most=1.0)


def hold(arguments: tuple[str, ...]) -> tuple[Held, Held]:
    """Return what a command holds on to after the first minutes and after the last."""
    with stream.Boards(0) as boards, stream.command(boards, *arguments) as process:
        boards.started_s()
        boards.wait_for(FIRST_MIN)
        first = _held(process.pid)
        boards.wait_for(LAST_MIN)
        return first, _held(process.pid)


def _held(process: int) -> Held:
    folder = Path("/proc") / str(process)
    status = dict(line.split(":", 1) for line in (folder / "status").read_text().splitlines())
    return Held(
        int(status["VmRSS"].split()[0]) / 1024,
        int(status["Threads"]),
        len(os.listdir(folder / "fd")),
    )
