"""The stream: sensors are read at common deadlines; after some readings each sends a line of their sums.

A chip that keeps its measurements itself, in a FIFO, is asked for all of them once a line: none is lost or doubled, and
the bus carries less. Each such sensor has a deadline of its own within the line, so that no two meet.
"""

import gc
from time import sleep_us, ticks_add, ticks_diff, ticks_us

from hingeline_firmware.jitter import Jitter
from hingeline_protocol.line import seal
from hingeline_protocol.messages import pack

_DRAIN_US = 100000
"""A FIFO is emptied at least so often: the smallest holds 32 measurements, 0.16 s."""
COLLECT_LINES = 100
"""Lines between two garbage collections, which never come within a line.

A line leaves up to 256 bytes on the heap, so 100 of them fit on a small one.
"""


class Streamer:
    """Reads sensors and sends their lines.

    Attributes
    ----------
    running
        Whether lines are sent.
    console
        The host that started the stream, and gets its lines.
    lines, late
        Lines sent, and readings left out because the board was busy, both since the board started.
    collections, paused
        Garbage collections, and readings left out during these.
    jitter
        How unevenly lines begin, since the stream was started.
    """

    def __init__(self, console, lines_hz, readings):
        self.console = console
        self.sensors = []
        self.running = False
        self.lines = 0
        self.late = 0
        self.collections = 0
        self.paused = 0
        self._collected = False
        self.jitter = Jitter()
        self._deadline_us = ticks_us()
        self._taken = 0
        self._until_temperature = 0
        self._until_collect = COLLECT_LINES
        self.set_rate(lines_hz, readings)

    def set_rate(self, lines_hz, readings):
        """Send `lines_hz` lines a second of each sensor, each the sum of `readings`."""
        self.lines_hz = lines_hz
        self.readings = readings
        self._period_us = 1000000 // (lines_hz * readings)
        self._drain_every = max(1, min(readings, _DRAIN_US // self._period_us))
        if self.running:
            self.start()

    def start(self):
        """Begin at once."""
        self.running = True
        self._deadline_us = ticks_us()
        self._taken = 0
        self._until_temperature = 0
        self.jitter.begin()
        for sensor in self.sensors:
            sensor.begin(self._period_us <= _DRAIN_US)

    def stop(self):
        """Send no more lines."""
        self.running = False

    def step(self):
        """Wait for the next deadline and take the readings that are due then."""
        ahead_us = ticks_diff(self._deadline_us, ticks_us())
        if ahead_us > 0:
            sleep_us(ahead_us)
        behind_us = ticks_diff(ticks_us(), self._deadline_us)
        if behind_us >= self._period_us:
            self._skip(behind_us // self._period_us)
            behind_us %= self._period_us
        self._collected = False
        if not self._taken:
            self.jitter.note(behind_us)
        for sensor in self.sensors:  # first those that may not be late
            if not sensor.buffered:
                self._report(sensor.read())
        every = self._drain_every
        for i in range(len(self.sensors)):
            sensor = self.sensors[i]
            if sensor.buffered and self._taken % every == i % every:
                self._report(sensor.read())
                if every == self.readings:  # its only deadline in this line
                    self._send(sensor)
                    sensor.sent = True
        self._deadline_us = ticks_add(self._deadline_us, self._period_us)
        self._taken += 1
        if self._taken == self.readings:
            self._end_line()

    def _skip(self, deadlines):
        """Leave out the deadlines that have passed, and count the lines that would have ended there."""
        if self._collected:
            self.paused += deadlines
        else:
            self.late += deadlines
        self._deadline_us = ticks_add(self._deadline_us, deadlines * self._period_us)
        lines, self._taken = divmod(self._taken + deadlines, self.readings)
        if lines:
            for sensor in self.sensors:
                sensor.next_line(lines)

    def _end_line(self):
        self._until_temperature -= 1
        if self._until_temperature < 0:
            self._until_temperature = self.lines_hz
            for sensor in self.sensors:
                self._report(sensor.read_temperature())
        for sensor in self.sensors:
            if sensor.buffered and not sensor.sent:
                self._report(sensor.read())
            if not sensor.sent:
                self._send(sensor)
            sensor.sent = False
        self._taken = 0
        self._until_collect -= len(self.sensors)
        if self._until_collect < 0:
            self._until_collect = COLLECT_LINES
            gc.collect()
            self.collections += 1
            self._collected = True

    def _send(self, sensor):
        if sensor.readings:
            self.lines += self.console.send(seal(sensor.line_body()))
        sensor.next_line(1)

    def _report(self, fault):
        if fault is not None:
            self.console.send(pack(fault))
