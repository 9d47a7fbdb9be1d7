"""Runs on MicroPython: a stream that was stopped, and started again after rests around the period of the ticks.

The lines go to standard output. A JSON object on standard error tells, by the minutes of the rest, how many lines a
second of streaming gave then. Nothing but `start` wakes the sensor: no host says `hello` again.
"""

import json
import sys

from leaping import Bus, Clock

SECOND_US = 1000000
MINUTE_US = 60 * SECOND_US

sys.modules["time"] = Clock
from hingeline_firmware.chips.mpu6050 import Mpu6050  # noqa: E402
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_firmware.sensor import Sensor  # noqa: E402
from hingeline_firmware.streamer import Streamer  # noqa: E402

streamer = Streamer(Console(), 50, 4)
streamer.sensors = [Sensor(0, 0x68, Mpu6050, Bus())]
streamer.sensors[0].start()


def second():
    """The lines of a second of streaming."""
    before, end_us = streamer.lines, Clock.now_us + SECOND_US
    streamer.start()
    while Clock.now_us < end_us:
        streamer.step()
    streamer.stop()
    return streamer.lines - before


second()
lines = {}
for minutes in (0, 1, 8, 10, 12, 15, 17, 18, 27):
    Clock.now_us += minutes * MINUTE_US
    lines[minutes] = second()
print(json.dumps(lines), file=sys.stderr)
