"""Real boards to link to: the firmware on the virtual bench, and a cable between that spoils what it carries."""

import os
import pty
import select
import threading
import tty
from collections.abc import Callable
from contextlib import ExitStack

import pytest

from hingeline.link.fleet import Fleet
from hingeline.virtual.client import VirtualBench

ONE_BOARD = """
seed = 5
[[boards]]
name = "alpha"
uid = "a1"
first_ticks_us = {first_ticks_us}
[[boards.sensors]]
name = "left"
chip = "mpu6050"
[[boards.sensors]]
name = "right"
chip = "lis3dh"
bus = 1
"""
SECOND_BOARD = """
[[boards]]
name = "beta"
uid = "b2"
first_ticks_us = 7000000
[[boards.sensors]]
name = "tail"
chip = "mpu6050"
"""


@pytest.fixture
def bench_of(tmp_path):
    """A function that starts a virtual bench on the text of a scenario, until the test ends."""
    with ExitStack() as stack:

        def start(scenario: str, *options: str) -> VirtualBench:
            path = tmp_path / "scenario.toml"
            path.write_text(scenario)
            return stack.enter_context(VirtualBench(path, *options))

        yield start


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """The board `alpha`, for tests that leave it as it is."""
    path = tmp_path_factory.mktemp("bench") / "scenario.toml"
    path.write_text(ONE_BOARD.format(first_ticks_us=0))
    with VirtualBench(path) as bench:
        yield bench


@pytest.fixture
def own_bench(bench_of):
    """The board `alpha`, just powered on; its ticks wrap in half a second."""
    return bench_of(ONE_BOARD.format(first_ticks_us=(1 << 30) - 500_000))


@pytest.fixture
def tcp_bench(bench_of):
    """The board `alpha` behind a TCP port."""
    return bench_of(ONE_BOARD.format(first_ticks_us=0), "--tcp")


@pytest.fixture
def two_boards(bench_of):
    """The boards `alpha` and `beta`."""
    return bench_of(ONE_BOARD.format(first_ticks_us=0) + SECOND_BOARD)


@pytest.fixture
def fleet(bench):
    """The one board of `bench`, introduced."""
    with Fleet([bench.ports["alpha"]]) as fleet:
        yield fleet


@pytest.fixture
def own_fleet(own_bench):
    """The one board of `own_bench`, introduced."""
    with Fleet([own_bench.ports["alpha"]]) as fleet:
        yield fleet


class Cable:
    """A pty that leads to a port, and does to each line from the board what `spoil` says.

    Attributes
    ----------
    name
        The port to open.
    spoil
        Takes a line, line feed included, and returns the bytes to hand on.
    """

    def __init__(self, port: str, spoil: Callable[[bytes], bytes] = lambda line: line) -> None:
        self.spoil = spoil
        self._board = os.open(port, os.O_RDWR | os.O_NOCTTY)
        self._near, self._far = pty.openpty()
        tty.setraw(self._board)
        tty.setraw(self._far)
        self.name = os.ttyname(self._far)
        self._end, self._ender = os.pipe()
        self._thread = threading.Thread(target=self._relay)
        self._thread.start()

    def __enter__(self) -> "Cable":
        return self

    def __exit__(self, *exception: object) -> None:
        os.write(self._ender, b"e")
        self._thread.join()
        for descriptor in (self._board, self._near, self._far, self._end, self._ender):
            os.close(descriptor)

    def _relay(self) -> None:
        rest = b""
        while True:
            ready, _, _ = select.select([self._board, self._near, self._end], [], [])
            if self._end in ready:
                return
            if self._near in ready:
                os.write(self._board, os.read(self._near, 4096))
            if self._board in ready:
                *lines, rest = (rest + os.read(self._board, 4096)).split(b"\n")
                os.write(self._near, b"".join(self.spoil(line + b"\n") for line in lines))


@pytest.fixture
def cable(bench):
    """A spoiling cable to the board `alpha`."""
    with Cable(bench.ports["alpha"]) as cable:
        yield cable


@pytest.fixture
def pty_end():
    """A pty to play a stranger on: (descriptor of the stranger, port of the host)."""
    near, far = pty.openpty()
    tty.setraw(far)
    yield near, os.ttyname(far)
    os.close(near)
    os.close(far)
