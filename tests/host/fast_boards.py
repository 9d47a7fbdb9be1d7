"""Boards whose time runs as fast as a host takes their lines: a day of eight sensors in minutes."""

import os

import numpy as np
from tests.pty_board import COUNTS_PER_G, PtyBoard

from hingeline_protocol.line import seal
from hingeline_protocol.messages import SAMPLE_FORMAT, SEQUENCE_PERIOD, TICKS_PERIOD_US

BOARDS, SENSORS, LINES_HZ, READINGS = 4, 2, 50, 4
PERIOD_US = 1_000_000 // LINES_HZ
UP = READINGS * COUNTS_PER_G
MINUTE, MOVED = 60 * LINES_HZ, 2 * LINES_HZ
"""In lines: at the end of each minute the sensors are moved to another rest."""
NOISE_COUNTS = 25
"""Of a line's mean, about that of an MPU-6050: 400 µg/√Hz over 25 Hz at 16384 counts a g is 33."""


class FastBoard(PtyBoard):
    """A board that sends the lines it is told to."""

    def __init__(self, number: int) -> None:
        super().__init__(f"{number:08x}", SENSORS)
        os.set_blocking(self.near, False)
        self.unsent = b""
        self._lines = 0
        noise = np.random.default_rng(number).normal(0, NOISE_COUNTS * READINGS, (9973, 3))
        self._noise = noise.round().astype(int).tolist()

    def queue(self, lines: int) -> None:
        """Have so many lines of each sensor sent."""
        sealed = []
        for number in range(self._lines, self._lines + lines):
            rest, phase = divmod(number, MINUTE)
            slope = 3000 * (rest % 2) + 400 * max(0, phase - MINUTE + MOVED) * (-1) ** rest
            for sensor in range(SENSORS):
                x, y, z = self._noise[(SENSORS * number + sensor) % len(self._noise)]
                ticks_us = number * PERIOD_US % TICKS_PERIOD_US
                fields = (sensor, number % SEQUENCE_PERIOD, ticks_us, READINGS)
                sealed.append(seal(SAMPLE_FORMAT % (*fields, x + slope, y, z + UP, 2400)))
        self._lines += lines
        self.unsent += b"".join(sealed)

    def send(self) -> None:
        """Send as much as the pty takes."""
        self.unsent = self.unsent[os.write(self.near, self.unsent[:4096]) :]

    def listen(self) -> None:
        """Take what the host asks, and answer."""
        self.unsent += self.answers()
