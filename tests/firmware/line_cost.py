"""Runs on MicroPython: what a sample line costs in heap and time, told as JSON on standard error.

The firmware's own streamer, sensor and console, their lines on standard output; a bus whose chip has always measured.
The heap is counted with collection off, over whole lines with their readings; the time without the waits between.
"""

import gc
import json
import sys
import time
from binascii import crc32

from leaping import Bus

from hingeline_firmware.chips.mpu6050 import Mpu6050
from hingeline_firmware.console import Console
from hingeline_firmware.sensor import Sensor
from hingeline_firmware.streamer import Streamer

LINES = 40


def heap_bytes(action):
    """What an action leaves on the heap, per line."""
    gc.collect()
    gc.disable()
    before = gc.mem_alloc()
    action()
    spent = gc.mem_alloc() - before
    gc.enable()
    return spent / LINES


def line_us(action):
    """The time of an action, per line."""
    start_us = time.ticks_us()
    action()
    return time.ticks_diff(time.ticks_us(), start_us) / LINES


def stream():
    lines = streamer.lines
    while streamer.lines < lines + LINES:
        streamer.step()
        console.line()  # as `app.Board.step`


def end_lines():
    sensor.buffered = False
    for _ in range(LINES):
        sensor.readings = 2
        streamer._end_line()


def f_strings():
    ticks_us, x = 1073740000, 65321
    for i in range(LINES):
        body = f"s {sensor.number} {i} {ticks_us + i} 2 {x + i} {x + i} {x + i} 2512"
        console.send(f"{body}*{crc32(body.encode()):08X}\n".encode())


console = Console()
sensor = Sensor(0, 0x68, Mpu6050, Bus())
sensor.start()
streamer = Streamer(console, 100, 2)
streamer.sensors = [sensor]
streamer.start()
stream()  # past the time in which a chip settles, and the first look at the temperature
result = {
    "heap_bytes": heap_bytes(stream),
    "line_us": line_us(end_lines),
    "f_string_heap_bytes": heap_bytes(f_strings),
    "f_string_line_us": line_us(f_strings),
    "bits": 64 if sys.maxsize > 1 << 32 else 32,
}
print(json.dumps(result), file=sys.stderr)
