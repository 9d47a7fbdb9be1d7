"""What a run costs to replay as sensors and minutes grow: time and memory of each, beside a fraction of it.

`python -m tests.bench.growth FILE` replays one, as a process of its own whose peak of memory the system tells.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path
from time import process_time

from tests.bench.rows import Row
from tests.posix import resource

from hingeline.device.link.decoder import Line
from hingeline.device.link.replay import Replay
from hingeline.measure.capture import Capture
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import Happening, read_fast
from hingeline_protocol.line import seal
from hingeline_protocol.messages import SAMPLE_FORMAT, Board, Ok, Sensor, pack

LINES_HZ = 50
COUNTS_PER_G, NOISE_COUNTS = 16384, 40.0
SIZES = ((1, 1), (2, 1), (4, 1), (8, 1), (2, 10), (2, 100))
"""Sensors and minutes; each is held against the one before that differs from it in one of the two."""


def rows() -> list[Row]:
    """Return the time of a line and the memory, of larger runs beside smaller ones."""
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        for sensors, minutes in SIZES:
            path = Path(folder) / f"{sensors}-{minutes}.log"
            count = record(path, sensors, minutes)
            run = subprocess.run(
                [sys.executable, "-m", "tests.bench.growth", str(path)], capture_output=True, check=True
            )
            cpu_s, peak_mb = json.loads(run.stdout)
            found[sensors, minutes] = (1e6 * cpu_s / count, peak_mb)
            megabytes_s = path.stat().st_size / 1e6 / cpu_s
    told = []
    for larger, smaller in (
        ((2, 1), (1, 1)),
        ((4, 1), (1, 1)),
        ((8, 1), (1, 1)),
        ((2, 10), (2, 1)),
        ((2, 100), (2, 1)),
    ):
        what, beside = (f"{sensors} sensors, {minutes} min" for sensors, minutes in (larger, smaller))
        (ours_us, ours_mb), (theirs_us, theirs_mb) = found[larger], found[smaller]
        told.append(Row(f"replay and stillness, a line: {what}", ours_us, "µs", beside, theirs_us, at_most=1.3))
        told.append(Row(f"replay, peak memory: {what}", ours_mb, "MB", beside, theirs_mb, at_most=1.2))
    told.append(Row(f"replay and stillness: {what}", megabytes_s, "MB/s", at_least=20.0))
    return told


def record(path: Path, sensors: int, minutes: int) -> int:
    """Write a run of sensors at rest; return how many lines it has."""
    rng = random.Random(sensors)
    noise = [round(rng.gauss(0, NOISE_COUNTS)) for _ in range(997)]
    infos = [Sensor(1, i, "mpu6050", 0, 104, COUNTS_PER_G, 200, 94, "absolute", "ok") for i in range(sensors)]
    with Recorder(path) as recorder:
        recorder.lines(
            Line("bench", 0, pack(one)) for one in (Board(1, 1, "0.1.0", "pico", "b0", sensors), *infos, Ok(1))
        )
        for second in range(60 * minutes):
            recorder.lines(
                Line("bench", 20_000_000 * at, seal(SAMPLE_FORMAT % _fields(at, index, noise)))
                for at in range(LINES_HZ * second, LINES_HZ * (second + 1))
                for index in range(sensors)
            )
    return 60 * minutes * LINES_HZ * sensors


def _fields(at: int, index: int, noise: list[int]) -> tuple[int, ...]:
    x, y, z = (noise[(3 * at + 101 * index + axis) % len(noise)] for axis in range(3))
    return index, at % 65536, 20_000 * at % (1 << 30), 4, x, y, 4 * COUNTS_PER_G + z, 2512


def replay(path: Path) -> tuple[float, float]:
    """Return the processor time, in s, and the peak of memory, in MB, from the file to the stillness of all."""
    began_s = process_time()
    source = Replay(each for each in read_fast(path) if not isinstance(each, Happening))
    capture = Capture(source.sensors)
    capture.expect(patience_s=float("inf"))
    for event in source:
        capture.push(event)
    return process_time() - began_s, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


if __name__ == "__main__":
    print(json.dumps(replay(Path(sys.argv[1]))))
