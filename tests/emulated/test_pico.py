"""The very files of the firmware on a Pico with MicroPython's own image: what the unix port can't show.

Words of 32 bits and small integers of 31, ticks of 30, littlefs, the I2C controller and USB as the chip has them.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from zlib import crc32

import pytest
import serial
from tests.emulated.conftest import Start as Started
from tests.firmware.conftest import Wire

from hingeline.device.install.payload import payload
from hingeline_protocol.messages import (
    TICKS_PERIOD_US,
    Board,
    Get,
    Hello,
    Ok,
    Put,
    Sample,
    Sensor,
    Start,
    Stop,
)

pytestmark = pytest.mark.emulated

PATIENCE_S = 1800.0
"""A board that starts compiles all its files; the emulated one is dozens of times slower than a Pico, or more."""
ADDRESS = 0x68
COUNTS_PER_G = 16384
"""Full scale ±2 g, MPU-6000/MPU-6050 product specification, section 6.2."""


@pytest.fixture(scope="module")
def wire(started: Started) -> Iterator[Wire]:
    with started(payload()) as port, Wire(port, PATIENCE_S) as wire:
        wire.next(lambda message: isinstance(message, Ok))
        yield wire


def test_it_says_who_it_is_and_what_answers_on_its_buses(wire: Wire) -> None:
    assert isinstance(wire.log[0], Board), "a board introduces itself when it starts"
    board, _, sensor, *_, done = wire.ask(Hello, 1, 1)
    assert (board.board, board.uid, board.sensors) == ("pico", "ff" * 8, 1)
    assert isinstance(sensor, Sensor)
    assert (sensor.chip, sensor.bus, sensor.address, sensor.state) == ("mpu6050", 0, ADDRESS, "ok")
    assert isinstance(done, Ok)


def test_it_streams_gravity_in_whole_lines(wire: Wire) -> None:
    wire.ask(Start)
    samples = wire.take(Sample, 10)
    wire.ask(Stop)
    assert [b.sequence - a.sequence for a, b in pairwise(samples)] == [1] * 9
    assert all(0 < (b.ticks_us - a.ticks_us) % TICKS_PERIOD_US < 10_000_000 for a, b in pairwise(samples))
    for sample in samples:
        per_g = COUNTS_PER_G * sample.readings
        # 400 µg/√Hz is below 0.01 g in any of the chip's bands
        assert (sample.x / per_g, sample.y / per_g, sample.z / per_g) == pytest.approx((0, 0, 1), abs=0.05)
    assert wire.unsound == []


def test_it_keeps_a_calibration_in_littlefs(wire: Wire) -> None:
    content = random.Random(5).randbytes(40)
    crc = f"{crc32(content):08X}"
    (sensor,) = wire.ask_sensors()
    assert isinstance(wire.ask(Put, sensor.sensor, 0, 1, crc, content)[-1], Ok)
    piece, _ = wire.ask(Get, sensor.sensor, 0)
    assert (piece.data, piece.crc) == (content, crc)


def test_a_line_costs_at_most_256_bytes_of_heap(started: Started) -> None:
    cost, bus = (Path(__file__).parents[1] / "firmware" / name for name in ("line_cost.py", "leaping.py"))
    files = payload() | {"main.py": cost.read_bytes(), bus.name: bus.read_bytes()}
    with started(files) as port, serial.Serial(port, timeout=PATIENCE_S) as console:
        said = console.read_until(b"}")
    assert b"}" in said, f"it never came to its end: {said[-300:]!r}"
    told = json.loads(said[said.index(b"{") :])
    assert told["bits"] == 32
    assert told["heap_bytes"] <= 256
    assert told["heap_bytes"] < told["f_string_heap_bytes"]
