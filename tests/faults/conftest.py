"""Boards of the virtual bench, the firmware on MicroPython, that stream fast."""

from contextlib import ExitStack

import pytest
from tests import boards
from tests.boards import board, sensor
from tests.faults.cable import Cable, whole

TWO_BOARDS = "seed = 5\nspeed = 10\n" + board("alpha", uid="a1") + board("beta", sensor("tail"), uid="b2")


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """The boards `alpha` with two sensors and `beta` with one, ten times as fast as real ones."""
    with boards.bench(tmp_path_factory.mktemp("bench"), TWO_BOARDS) as bench:
        yield bench


@pytest.fixture
def cable_to(bench):
    """A function that lays a cable to a board by its name, until the test ends."""
    with ExitStack() as stack:

        def lay(board, spoil=whole):
            return stack.enter_context(Cable(bench.ports[board], spoil))

        yield lay
