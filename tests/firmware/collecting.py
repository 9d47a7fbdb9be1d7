"""Runs on MicroPython: when the heap is collected while two sensors stream, on a heap as small as a board's.

The argument is `streamer.COLLECT_LINES`. Looks at the heap in use at every transaction of a bus and at every line sent:
it shrinks where it was collected. A line is in the making from its first transaction until it has been sent. A JSON
object on standard error tells how often it was collected between lines, and how often within one.
"""

import gc
import json
import sys

from leaping import Bus, Clock

sys.modules["time"] = Clock
from hingeline_firmware import streamer  # noqa: E402
from hingeline_firmware.chips.mpu6050 import Mpu6050  # noqa: E402
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_firmware.sensor import Sensor  # noqa: E402

LINES = 4000
FRAME_BYTES = 256
"""A function of many variables has its frame on the heap, and gives it back as it ends: that is no collection."""


class Watch:
    """Counts collections, by whether a line was in the making."""

    between = within = used = 0

    @classmethod
    def look(cls, making):
        used = gc.mem_alloc()
        if used < cls.used - FRAME_BYTES and making:
            cls.within += 1
        elif used < cls.used - FRAME_BYTES:
            cls.between += 1
        cls.used = used


class WatchedBus(Bus):
    """A bus whose transactions are looked at."""

    def readfrom_mem_into(self, address, register, buffer):
        Watch.look(making=not starts_a_line())
        Bus.readfrom_mem_into(self, address, register, buffer)


class Watched(Console):
    """A console whose lines are looked at before they are sent."""

    def send(self, line):
        Watch.look(making=True)
        return Console.send(self, line)


def sums_of(number):
    """How many readings are in the line of a sensor, none where it is still to be made."""
    return stream.sensors[number].readings if number < len(stream.sensors) else 0


def starts_a_line():
    """Whether nothing of the lines to come has been read yet; makes nothing on the heap."""
    return sums_of(0) == sums_of(1) == 0


streamer.COLLECT_LINES = int(sys.argv[1])
stream = streamer.Streamer(Watched(), 100, 2)
stream.sensors = [Sensor(bus, 0x68, Mpu6050, WatchedBus()) for bus in range(2)]
for sensor in stream.sensors:
    sensor.start()
    sensor._has_fifo = False  # measurements one by one: a line is longest in the making then
Watch.between = 0
stream.start()
while stream.lines < LINES:
    stream.step()
print(json.dumps({"between": Watch.between, "within": Watch.within}), file=sys.stderr)
