"""Boards that say what they are told to, behind pseudo-terminals: `python -m tests.bench.feeder SENSORS LINES_HZ`.

The firmware, run on this machine, would take the time of the host that is measured beside it. These write as it does:
four sensors a board, their lines in one burst at each deadline, a write each, whatever rate the host asks for; with
LINES_HZ 0 as fast as the host takes them. Their ticks are this machine's monotonic clock, so that who reads a line
knows when it was written; as fast as possible, they are 10 ms a line, and once a minute the first two sensors of a
board tilt for two seconds, as a surface that moves.

JSON lines on standard output: the ports, when a stream was first asked for, then each minute of the boards' clocks that
went as fast as possible. They end with standard input.
"""

from __future__ import annotations

import json
import os
import random
import select
import sys
from time import monotonic_ns

from tests.pty_board import COUNTS_PER_G, PtyBoard

from hingeline_protocol.line import seal
from hingeline_protocol.messages import SAMPLE_FORMAT, SEQUENCE_PERIOD, TICKS_PERIOD_US

SENSORS_A_BOARD = 4
READINGS = 2
NOISE_COUNTS = 40.0
FAST_US = 10_000
MINUTE_US = 60_000_000
TILTED_US, TILT = 2_000_000, (0.9945, 0.1045)
"""By 6°: cosine and sine."""


class Talker(PtyBoard):
    """One board."""

    def __init__(self, uid: str, sensors: int, noise: random.Random) -> None:
        super().__init__(uid, sensors)
        self._noise = noise
        self._sequence = 0

    def burst(self, ticks_us: int, *, is_tilted: bool = False) -> None:
        """Write a line of each sensor: at rest, base down, or the first two of them tilted."""
        for index in range(self._sensors):
            up, across = TILT if is_tilted and index < 2 else (1.0, 0.0)
            x, y, z = (
                round(self._noise.gauss(READINGS * COUNTS_PER_G * share, NOISE_COUNTS)) for share in (0.0, across, up)
            )
            fields = (
                index,
                self._sequence,
                ticks_us % TICKS_PERIOD_US,
                READINGS,
                x,
                y,
                z,
                2512,
            )
            os.write(self.near, seal(SAMPLE_FORMAT % fields))
        self._sequence = (self._sequence + 1) % SEQUENCE_PERIOD


def feed(sensors: int, lines_hz: int) -> None:
    """Talk until standard input ends."""
    noise = random.Random(sensors)
    boards = [
        Talker(f"b{at:02x}", min(SENSORS_A_BOARD, sensors - at), noise) for at in range(0, sensors, SENSORS_A_BOARD)
    ]
    ports = {board.near: board for board in boards}
    print(json.dumps({"ports": [board.port for board in boards]}), flush=True)
    period_ns = 1_000_000_000 // lines_hz if lines_hz else 0
    deadline_ns, fast_us, told = monotonic_ns(), 0, False
    while True:
        wait_s = max(0.0, (deadline_ns - monotonic_ns()) * 1e-9)
        ready, _, _ = select.select([sys.stdin, *ports], [], [], wait_s)
        if sys.stdin in ready:
            return
        for descriptor in ready:
            os.write(descriptor, ports[descriptor].answers())
        streaming = [board for board in boards if board.streaming]
        if streaming and not told:
            told = True
            print(json.dumps({"started_ns": monotonic_ns()}), flush=True)
        if monotonic_ns() < deadline_ns:
            continue
        deadline_ns += period_ns or 1_000_000 * (not streaming)
        if lines_hz:
            for board in streaming:
                board.burst(monotonic_ns() // 1000)
        elif streaming:
            fast_us += FAST_US
            for board in streaming:
                board.burst(fast_us, is_tilted=fast_us % MINUTE_US > MINUTE_US - TILTED_US)
            if fast_us % MINUTE_US == 0:
                print(json.dumps({"minutes": fast_us // MINUTE_US}), flush=True)


if __name__ == "__main__":
    feed(*map(int, sys.argv[1:]))
