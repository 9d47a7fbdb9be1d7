"""Boards of the virtual bench that many tests use, as text of a scenario, and what a host takes of their samples."""

import json
from pathlib import Path

from hingeline.device.samples import Sample
from hingeline_virtual.client import VirtualBench

LEFT, RIGHT = 0x68, 128 + 0x18
"""Numbers of the sensors of `PAIR`: bus × 128 + address (PROTOCOL.md)."""
ALPHA = (f"a1-{LEFT}", f"a1-{RIGHT}")
"""Their ids, on a board of the uid `a1`."""


def _table(head, **keys):
    return f"[[{head}]]\n" + "".join(f"{key} = {json.dumps(value)}\n" for key, value in keys.items())


def sensor(name, chip="mpu6050", **keys):
    """Return the table of a sensor."""
    return _table("boards.sensors", name=name, chip=chip, **keys)


def pair(**left):
    """Return the tables of two sensors, each on a bus of its own; `left` are further keys of the first."""
    return sensor("left", **left) + sensor("right", "lis3dh", bus=1)


PAIR = pair()


def board(name, sensors=PAIR, **keys):
    """Return the table of a board and those of its sensors."""
    return _table("boards", name=name, **keys) + sensors


def bench(folder: Path, scenario, *options):
    """Return a bench of a scenario that is written into the folder; it starts with its `with`."""
    path = folder / "scenario.toml"
    path.write_text(scenario, encoding="utf-8")
    return VirtualBench(path, *options)


def take(fleet, samples):
    """Return the next so many samples and what came with them, up to the end of the stream."""
    events = []
    for event in fleet:
        events.append(event)
        samples -= isinstance(event, Sample)
        if samples <= 0:
            break
    return events
