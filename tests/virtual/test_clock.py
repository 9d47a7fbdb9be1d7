"""The scene's clock: paced, held back, never going back."""

import math
import socket
import struct

import pytest

from hingeline_virtual.buses import Buses
from hingeline_virtual.clock import Clock
from hingeline_virtual.on_board import transactions
from hingeline_virtual.program import SLACK_US, Program


def test_it_goes_as_fast_as_was_told():
    clock = Clock(10)
    clock.advance(100.0, math.inf)
    clock.advance(100.5, math.inf)
    assert clock.now_s == pytest.approx(5.0)
    assert clock.wall_wait_s(7_000_000) == pytest.approx(0.2)


def test_time_held_back_is_not_made_up():
    clock = Clock(1)
    clock.advance(0.0, math.inf)
    clock.advance(3.0, 1_000_000)
    clock.advance(3.5, math.inf)
    assert clock.now_us == 1_500_000


def test_it_never_goes_back():
    clock = Clock(1)
    clock.advance(0.0, math.inf)
    clock.advance(2.0, math.inf)
    clock.advance(2.1, 1_000)
    assert clock.now_us == 2_000_000


def test_at_speed_0_it_goes_where_it_is_let_and_stands_if_nothing_is_due():
    clock = Clock(0)
    clock.advance(0.0, 77_000)
    assert clock.now_us == 77_000
    clock.advance(1.0, math.inf)
    assert clock.now_us == 77_000
    assert clock.wall_wait_s(math.inf) == math.inf
    assert clock.wall_wait_s(99_000_000) == 0


def test_where_the_bench_gets_no_turn_the_scene_is_late_and_no_board():
    """A board that finds the scene a quarter of a second ahead has stood still, and loses that time."""
    clock = Clock(1)
    clock.advance(0.0, math.inf)
    bench_end, board_end = socket.socketpair()
    with bench_end, board_end:
        link = Program(bench_end, Buses({}), lambda: None)
        link.start(clock.now_us, 0.0)
        board_end.sendall(struct.pack("<BBBBIq", transactions.SLEEP, 0, 0, 0, 0, 5_000))
        link.serve(clock.now_us, 0.0)
        clock.advance(3.0, link.limit_us(3.0, free=False))
    assert 5_000 <= clock.now_us <= 5_000 + SLACK_US < transactions.STALL_US
