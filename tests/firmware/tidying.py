"""Runs on MicroPython: readings left out by a slow garbage collection, and by a slow bus, as the streamer counts them.

The clock leaps: a collection takes 11 ms, as on an emulated Pico with sources; the bus hangs where it is told to.
A JSON object on standard error: [late, collections, late while collecting], for a healthy bus, then after it has hung.
"""

import json
import sys

from leaping import Bus, Clock


class Collector:
    """The part of `gc` that the streamer uses."""

    @staticmethod
    def collect():
        Clock.sleep_us(11000)


sys.modules["time"] = Clock
sys.modules["gc"] = Collector
from hingeline_firmware.chips.mpu6050 import Mpu6050  # noqa: E402
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_firmware.sensor import Sensor  # noqa: E402
from hingeline_firmware.streamer import COLLECT_LINES, Streamer  # noqa: E402


class SlowBus(Bus):
    """A bus that hangs once, for so long."""

    hangs_us = 0

    def readfrom_mem_into(self, address, register, buffer):
        Bus.readfrom_mem_into(self, address, register, buffer)
        Clock.sleep_us(self.hangs_us)
        self.hangs_us = 0


class Deaf(Console):
    """A console that sends nothing."""

    def send(self, line):
        return True


def run_on():
    """Stream for a little more than two collections."""
    until = stream.collections + 2
    while stream.collections < until:
        stream.step()
    stream.step()
    counts.append([stream.late, stream.collections, stream.paused])


bus = SlowBus()
stream = Streamer(Deaf(), 50, 4)
stream.sensors = [Sensor(0, 0x68, Mpu6050, bus)]
stream.sensors[0].start()
stream.start()
counts = []
run_on()
for _ in range(40):
    stream.step()
bus.hangs_us = 26000
run_on()
print(json.dumps({"counts": counts, "lines": COLLECT_LINES}), file=sys.stderr)
