"""Real boards to link to: the firmware on the virtual bench, by a cable of `tests.faults` where it is to be spoilt."""

import os
import socket
from contextlib import ExitStack

import pytest
from tests import boards
from tests.boards import board, sensor
from tests.faults.cable import Cable
from tests.posix import pty, tty

from hingeline.device.link.fleet import Fleet
from hingeline_virtual.client import VirtualBench


def one_board(first_ticks_us=0):
    """Return the scenario of the board `alpha`."""
    return "seed = 5\n" + board("alpha", uid="a1", first_ticks_us=first_ticks_us)


@pytest.fixture
def bench_of(tmp_path):
    """A function that starts a virtual bench on the text of a scenario, until the test ends."""
    with ExitStack() as stack:

        def start(scenario: str, *options: str) -> VirtualBench:
            return stack.enter_context(boards.bench(tmp_path, scenario, *options))

        yield start


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """The board `alpha`, for tests that leave it as it is."""
    with boards.bench(tmp_path_factory.mktemp("bench"), one_board()) as bench:
        yield bench


@pytest.fixture
def own_bench(bench_of):
    """The board `alpha`, just powered on; its ticks wrap in half a second."""
    return bench_of(one_board((1 << 30) - 500_000))


@pytest.fixture
def tcp_bench(bench_of):
    """The board `alpha` behind a TCP port."""
    return bench_of(one_board(), "--tcp")


@pytest.fixture
def two_boards(bench_of):
    """The boards `alpha` and `beta`."""
    return bench_of(one_board() + board("beta", sensor("tail"), uid="b2", first_ticks_us=7_000_000))


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


@pytest.fixture
def tcp_end():
    """The port of a TCP server that says nothing."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield "socket://{}:{}".format(*server.getsockname())
