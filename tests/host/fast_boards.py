"""Boards whose time runs as fast as a host takes their lines: a day of eight sensors in minutes."""

import os
import pty
import tty

import numpy as np

from hingeline_protocol.line import seal, unseal
from hingeline_protocol.messages import (
    SAMPLE_FORMAT,
    SEQUENCE_PERIOD,
    TICKS_PERIOD_US,
    Board,
    Hello,
    Ok,
    Sensor,
    Start,
    State,
    Status,
    Stop,
    pack,
    parse,
)

BOARDS, SENSORS, LINES_HZ, READINGS = 4, 2, 50, 4
PERIOD_US = 1_000_000 // LINES_HZ
MINUTE, MOVED = 60 * LINES_HZ, 2 * LINES_HZ
"""In lines: at the end of each minute the sensors are moved to another rest."""
NOISE_COUNTS = 25
"""Of a line's mean, about that of an MPU-6050: 400 µg/√Hz over 25 Hz at 16384 counts a g is 33."""


class FastBoard:
    """A board behind a pty, which sends the lines it is told to."""

    def __init__(self, number: int) -> None:
        self.near, self._far = pty.openpty()
        tty.setraw(self._far)
        os.set_blocking(self.near, False)
        self.port = os.ttyname(self._far)
        self.streams = False
        self._uid = f"{number:08x}"
        self._heard = self.unsent = b""
        self._lines = 0
        noise = np.random.default_rng(number).normal(0, NOISE_COUNTS * READINGS, (9973, 3))
        self._noise = noise.round().astype(int).tolist()

    def close(self) -> None:
        """Pull it out."""
        os.close(self.near)
        os.close(self._far)

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
                sealed.append(seal(SAMPLE_FORMAT % (*fields, x + slope, y, z + 65536, 2400)))
        self._lines += lines
        self.unsent += b"".join(sealed)

    def send(self) -> None:
        """Send as much as the pty takes."""
        self.unsent = self.unsent[os.write(self.near, self.unsent[:4096]) :]

    def listen(self) -> None:
        """Take what the host asks, and answer."""
        *requests, self._heard = (self._heard + os.read(self.near, 4096)).split(b"\n")
        for line in filter(None, requests):  # an empty one ends what a host before may have left
            self.unsent += b"".join(map(pack, self._answer(parse(unseal(line)))))

    def _answer(self, request) -> list:
        number = request.request
        if isinstance(request, Start | Stop):
            self.streams = isinstance(request, Start)
        if isinstance(request, Status):
            return [State(number, *[int(self.streams)] * (len(State._fields) - 1)), Ok(number)]
        if not isinstance(request, Hello):
            return [Ok(number)]
        sensors = [
            Sensor(number, index, "mpu6050", index, 0x68, 16384, 1000, 44, "absolute", "ok")
            for index in range(SENSORS)
        ]
        return [Board(number, 1, "0.1.0", "pico", self._uid, SENSORS), *sensors, Ok(number)]
