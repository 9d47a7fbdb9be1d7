"""Runs on MicroPython: a day of streaming on a clock that jumps where the firmware sleeps.

Arguments: lines a second, readings a line, sensors. The lines go to standard output. A JSON object on standard error
tells the heap in use after the first hour and at the end, and what the streamer counted. The 30-bit ticks wrap some
eighty times; the sequence twice, at two lines a second.
"""

import gc
import json
import sys

TICKS_PERIOD_US = 1 << 30
HOUR_US = 3600 * 1000000


class Clock:
    """The functions of `time` that the firmware uses, as a 32-bit board has them."""

    now_us = TICKS_PERIOD_US - 1000000

    @classmethod
    def ticks_us(cls):
        return cls.now_us & TICKS_PERIOD_US - 1

    @staticmethod
    def ticks_add(ticks, delta):
        return ticks + delta & TICKS_PERIOD_US - 1

    @staticmethod
    def ticks_diff(later, earlier):
        half = TICKS_PERIOD_US >> 1
        return (later - earlier + half & TICKS_PERIOD_US - 1) - half

    @classmethod
    def sleep_us(cls, wait_us):
        cls.now_us += wait_us


class Bus:
    """A bus whose chip is an MPU-6050 that has always measured."""

    def __init__(self):
        self._kept = {0x75: 0x68, 0x3A: 0x01}

    def readfrom_mem_into(self, address, register, buffer):
        for i in range(len(buffer)):
            buffer[i] = self._kept.get(register + i, 0x3F)

    def writeto_mem(self, address, register, data):
        self._kept[register] = data[0]


sys.modules["time"] = Clock
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_firmware.mpu6050 import Mpu6050  # noqa: E402
from hingeline_firmware.sensor import Sensor  # noqa: E402
from hingeline_firmware.streamer import Streamer  # noqa: E402


def used():
    gc.collect()
    return gc.mem_alloc()


start_us = Clock.now_us
console = Console()
lines_hz, readings, sensors = [int(argument) for argument in sys.argv[1:]]
streamer = Streamer(console, lines_hz, readings)
streamer.sensors = [Sensor(bus, 0x68, Mpu6050, Bus()) for bus in range(sensors)]
streamer.start()
while Clock.now_us < start_us + HOUR_US:
    streamer.step()
first = used()
while Clock.now_us < start_us + 24 * HOUR_US:
    streamer.step()
told = {
    "first": first,
    "last": used(),
    "lines": streamer.lines,
    "late": streamer.late,
    "dropped": console.dropped,
}
print(json.dumps(told), file=sys.stderr)
