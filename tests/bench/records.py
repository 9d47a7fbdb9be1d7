"""What the number of sessions costs the commands that look through them, and what a long run costs."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from itertools import count as count_from
from pathlib import Path

from tests.bench import stream
from tests.bench.rows import Row
from tests.bench.sensors import keep

from hingeline.storage.index import NAME
from hingeline_protocol.line import seal
from hingeline_protocol.messages import SAMPLE_FORMAT, SEQUENCE_PERIOD, TICKS_PERIOD_US, Board, Sensor, pack

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
SENSORS = range(104, 112)
TICK_US = TICKS_PERIOD_US // SEQUENCE_PERIOD
"""From line to line of a sensor: its ticks begin again where its sequence numbers do."""


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
        path = fill(home, 1)
        lengthen(path)
        for name in ("sessions", "hingeline"):
            (home / NAME).unlink(missing_ok=True)
            seconds = _run(home, COMMANDS[name])
            yield Row(f"{name} with a run of 1 GB, not yet in the index", seconds, "s", at_most=AT_MOST_S)
        seconds, peak_mb = _spent(home, ["report", str(path), "-o", os.devnull])
        yield Row("report of a run of 1 GB", LONG_BYTES / 1e6 / seconds, "MB/s", at_least=20.0)
        yield Row("report of a run of 1 GB: peak memory", peak_mb, "MB", at_most=500.0)


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
    """Lengthen a run to 1 GB by what eight sensors send without a gap."""
    introduction = [Board(1, 1, "0.1.0", "pico", "e66166d8e325", len(SENSORS))]
    introduction += [Sensor(1, index, "mpu6050", 0, 104, 16384, 200, 94, "absolute", "ok") for index in SENSORS]
    lines = [
        seal(SAMPLE_FORMAT % (index, sequence, TICK_US * sequence, 4, 6234, -5989, 72063 + sequence % 97, 2200))
        for sequence in range(SEQUENCE_PERIOD)
        for index in SENSORS
    ]
    times_ns = count_from(4_144_947_324_283, 1_000 * TICK_US)
    with open(path, "ab") as file:
        file.writelines(b"L 4144947324282 /dev/ttyACM0 " + pack(each) for each in introduction)
        while file.tell() < LONG_BYTES:
            file.writelines(
                b"L %d /dev/ttyACM0 %s" % (time_ns, line)
                for time_ns, at in zip(times_ns, range(0, len(lines), len(SENSORS)), strict=False)
                for line in lines[at : at + len(SENSORS)]
            )
    os.utime(path, (1e9, 1e9))


def _run(home: Path, arguments: list[str]) -> float:
    """Return the time of the processor: other programs of the machine don't count."""
    return _spent(home, arguments)[0]


def _spent(home: Path, arguments: list[str]) -> tuple[float, float]:
    """Return the time of the processor in s, and the peak of memory in MB, of a command."""
    command = [sys.executable, "-m", "hingeline", *arguments]
    environment = {**os.environ, "HINGELINE_HOME": str(home)}
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command)
    return usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024
