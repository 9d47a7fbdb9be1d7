"""From the port to the verdict: what a host does with eight sensors at 100 lines a second each, and how fast."""

from __future__ import annotations

import fcntl
import json
import os
import pty
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from tests.bench.rows import Row
from tests.bench.sensors import keep
from tests.bench.timing import spread

from hingeline.demo.job import SHEET

SENSORS, LINES_HZ = 8, 100
STARTS = 5
SETTLE_S, SHARE_S, SHARES = 3.0, 3.0, 7
LATENCY_S, FLAT_OUT_S = 10, 60
ROWS_COLUMNS = (40, 120)
SPIN = "import os; os.nice(19)\nwhile True: pass"
THROWS = ("throws", str(SHEET), "flap", "--quiet", "--no-input")


class Boards:
    """`tests.bench.feeder` at work."""

    def __init__(self, lines_hz: int) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.feeder", str(SENSORS), str(lines_hz)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self.ports: list[str] = self._told()["ports"]
        self.sensors = [f"b{board:02x}-{index}" for board in range(0, SENSORS, 4) for index in range(4)]

    def __enter__(self) -> Boards:
        return self

    def __exit__(self, *exception: object) -> None:
        self._process.terminate()
        self._process.communicate()

    def started_s(self) -> float:
        """Wait until a stream was asked for, and return when that was."""
        return float(self._told()["started_ns"]) * 1e-9

    def wait_for(self, minutes: int) -> None:
        """Wait until so many minutes of the boards' clocks have gone, as fast as possible."""
        while self._told()["minutes"] != minutes:
            pass

    def _told(self) -> dict[str, object]:
        assert self._process.stdout is not None
        told: dict[str, object] = json.loads(self._process.stdout.readline())
        return told


@contextmanager
def command(boards: Boards, *arguments: str) -> Iterator[subprocess.Popen[bytes]]:
    """Run a command of hingeline on a terminal that is read."""
    near, far = pty.openpty()
    fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", *ROWS_COLUMNS, 0, 0))
    with tempfile.TemporaryDirectory() as home:
        keep(Path(home), ("b00-0", "b00-1"))
        named = [word for port in boards.ports for word in ("--port", port)]
        process = subprocess.Popen(
            [sys.executable, "-m", "hingeline", *arguments, *named],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=far,
            env={**os.environ, "HINGELINE_HOME": home, "TERM": "xterm-256color"},
        )
        os.close(far)
        reader = threading.Thread(target=_drain, args=(near,))
        reader.start()
        try:
            yield process
        finally:
            process.terminate()
            process.wait()
            reader.join()
            os.close(near)


def _drain(descriptor: int) -> None:
    try:
        while os.read(descriptor, 65536):
            pass
    except OSError:  # the command has ended
        return


def _cpu_s(process: int) -> float:
    """Return the processor time of a process so far, user and system: its clock of clock_getcpuclockid(3), Linux."""
    return time.clock_gettime(~process << 3 | 2)


def rows() -> list[Row]:
    """Return all rows."""
    return [*shares(), *latencies(), flat_out(), start()]


def shares() -> list[Row]:
    """Return the share of a core that `throws` takes: to the verdict told in lines, and drawn large besides.

    Each as it is where cores stay awake, and as it is where they go to sleep between two beats.
    """
    told = []
    for what, options, at_most in (("in lines", ["--plain"], 3.0), ("large screen", [], None)):
        with Boards(LINES_HZ) as boards, command(boards, *THROWS, *options) as process:
            boards.started_s()
            with cores_awake():
                awake = _shares_of(process.pid)
            asleep = _shares_of(process.pid)
        name = f"throws, {SENSORS} sensors at {LINES_HZ} lines/s: share of a core, {what}"
        told.append(Row(name, float(np.median(awake)), "%", at_most=at_most, spread=spread(awake)))
        told.append(Row(f"{name}, cores asleep", float(np.median(asleep)), "%", spread=spread(asleep)))
    return told


@contextmanager
def cores_awake() -> Iterator[None]:
    """Keep every core busy with work that gives way to all other."""
    spinning = [subprocess.Popen([sys.executable, "-c", SPIN]) for _ in range(os.cpu_count() or 1)]
    try:
        yield
    finally:
        for one in spinning:
            one.kill()
            one.wait()


def _shares_of(process: int) -> list[float]:
    """Return the share of a core that a process takes, window by window, in percent, once what just began settled."""
    time.sleep(SETTLE_S)
    shares = []
    for _ in range(SHARES):
        began_s, used_s = time.monotonic(), _cpu_s(process)
        time.sleep(SHARE_S)
        shares.append(100 * (_cpu_s(process) - used_s) / (time.monotonic() - began_s))
    return shares


def latencies() -> list[Row]:
    """Return how long after a board wrote a sample it was on the screen, and how often that was drawn."""
    with Boards(LINES_HZ) as boards:
        told = watched(boards, LATENCY_S)
    name = "from a board's write to the screen"
    return [
        *(
            Row(f"{name}, {word}", float(np.quantile(told["ages_ms"], share)), "ms", at_most=100.0)
            for word, share in (("median", 0.5), ("99 of 100", 0.99))
        ),
        Row("states on the large screen", told["states"] / LATENCY_S, "/s", at_least=10.0),
    ]


def flat_out() -> Row:
    """Return how many samples a second of processor time go from the port to the verdict."""
    with Boards(0) as boards:
        told = watched(boards, FLAT_OUT_S)
    name = f"from port to verdict, {SENSORS} sensors, of one core"
    return Row(name, told["samples"] / told["cpu_s"], "samples/s", at_least=SENSORS * LINES_HZ / 0.03)


def watched(boards: Boards, for_s: float) -> dict[str, float]:
    """Return what `tests.bench.watcher` tells."""
    run = subprocess.run(
        [sys.executable, "-m", "tests.bench.watcher", str(for_s), *boards.ports],
        stdout=subprocess.PIPE,
        check=True,
    )
    told: dict[str, float] = json.loads(run.stdout)
    return told


def start() -> Row:
    """Return the time from calling `throws` to the start of the stream."""
    seen = []
    for _ in range(STARTS):
        with Boards(LINES_HZ) as boards:
            began_s = time.monotonic()
            with command(boards, *THROWS):
                seen.append(boards.started_s() - began_s)
    return Row("throws, from the call to the stream's start", float(np.median(seen)), "s", spread=spread(seen))
