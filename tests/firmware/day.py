"""Runs on MicroPython: a day of streaming on a clock that jumps where the firmware sleeps.

Arguments: lines a second, readings a line, sensors. The lines go to standard output. A JSON object on standard error
tells the heap in use after the first hour and at the end, and what the streamer counted. The 30-bit ticks wrap some
eighty times; the sequence twice, at two lines a second.
"""

import gc
import json
import sys

from leaping import TICKS_PERIOD, Bus, Clock

HOUR_US = 3600 * 1000000

sys.modules["time"] = Clock
from hingeline_firmware.chips.mpu6050 import Mpu6050  # noqa: E402
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_firmware.sensor import Sensor  # noqa: E402
from hingeline_firmware.streamer import Streamer  # noqa: E402


def used():
    gc.collect()
    return gc.mem_alloc()


start_us = Clock.now_us = TICKS_PERIOD - 1000000
console = Console()
lines_hz, readings, sensors = [int(argument) for argument in sys.argv[1:]]
streamer = Streamer(console, lines_hz, readings)
streamer.sensors = [Sensor(bus, 0x68, Mpu6050, Bus()) for bus in range(sensors)]
for sensor in streamer.sensors:
    sensor.start()
streamer.start()
while Clock.now_us < start_us + HOUR_US:
    streamer.step()
first = used()
while Clock.now_us < start_us + 24 * HOUR_US:
    streamer.step()
result = {
    "first": first,
    "last": used(),
    "lines": streamer.lines,
    "late": streamer.late,
    "dropped": console.dropped,
}
print(json.dumps(result), file=sys.stderr)
