"""Boards of the virtual bench, the firmware on MicroPython, that stream fast."""

from contextlib import ExitStack

import pytest
from tests.faults.cable import Cable, whole

from hingeline.virtual.client import VirtualBench

TWO_BOARDS = """
seed = 5
speed = {speed}
[[boards]]
name = "alpha"
uid = "a1"
[[boards.sensors]]
name = "left"
chip = "mpu6050"
[[boards.sensors]]
name = "right"
chip = "lis3dh"
bus = 1
[[boards]]
name = "beta"
uid = "b2"
[[boards.sensors]]
name = "tail"
chip = "mpu6050"
"""


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """The boards `alpha` with two sensors and `beta` with one, ten times as fast as real ones."""
    path = tmp_path_factory.mktemp("bench") / "scenario.toml"
    path.write_text(TWO_BOARDS.format(speed=10))
    with VirtualBench(path) as bench:
        yield bench


@pytest.fixture
def cable_to(bench):
    """A function that lays a cable to a board by its name, until the test ends."""
    with ExitStack() as stack:

        def lay(board, spoil=whole):
            return stack.enter_context(Cable(bench.ports[board], spoil))

        yield lay
