"""Streaming, and what holds it up: two sensors on real MicroPython, each on a bus of its own."""

import itertools

import pytest
from tests.boards import LEFT, PAIR, RIGHT
from tests.firmware.conftest import POLL_S, gaps, of
from tests.posix import needs_posix

from hingeline_protocol.messages import (
    TICKS_PERIOD_US,
    Err,
    Hello,
    Ok,
    Rate,
    Sample,
    Sensor,
    Start,
    State,
    Status,
    Stop,
)


@pytest.fixture
def fresh(connected):
    """A bench, and the wire to its board of two sensors, whose ticks wrap within two seconds."""
    with connected(PAIR, head="speed = 1", board=f"first_ticks_us = {TICKS_PERIOD_US - 2_000_000}") as setup:
        yield setup


@pytest.fixture(scope="module")
def shared(connected):
    """A bench, and the wire to its board of two sensors."""
    with connected(PAIR, head="speed = 1") as setup:
        yield setup


@pytest.fixture
def two(shared):
    """The shared bench and wire, as after power-on."""
    _, wire = shared
    wire.ask(Stop)
    wire.ask(Rate, 50, 4)
    wire.log.clear()
    return shared


def test_a_board_introduces_its_sensors(two):
    _, wire = two
    board, about, *details, last = wire.ask(Hello, 1, 1)
    assert (board.protocol, board.board, board.sensors) == (1, "pico", 2)
    assert about[1:] == ("power", "off", "one")
    assert [(s.sensor, s.chip, s.bus, s.address, s.state) for s in details if isinstance(s, Sensor)] == [
        (LEFT, "mpu6050", 0, 0x68, "ok"),
        (RIGHT, "lis3dh", 1, 0x18, "ok"),
    ]
    assert isinstance(last, Ok)


@pytest.mark.parametrize(("lines_hz", "readings"), [(50, 4), (100, 2), (25, 8), (200, 1)])
def test_lines_come_steadily(two, lines_hz, readings):
    _, wire = two
    wire.ask(Rate, lines_hz, readings)
    wire.ask(Start)
    samples = wire.take(Sample, 2 * lines_hz)
    wire.ask(Stop)
    state = wire.ask(Status)[0]
    assert (state.streaming, state.lines_hz, state.readings) == (0, lines_hz, readings)
    assert state.lines >= len(samples)
    for sensor in (LEFT, RIGHT):
        own = of(sensor, samples)[1:]  # the first begins when the chip has settled, in mid-line
        lines, off = gaps(own, 1_000_000 // lines_hz)
        # A reading that meets no new measurement is left out; at one reading a line that is the line.
        assert lines.count(1) > 0.9 * len(lines)
        assert max(map(abs, off)) < 1 / readings + 0.2
        assert sum(sample.readings == readings for sample in own) > 0.9 * len(own)


def test_the_wrap_of_the_ticks_is_no_event(fresh):
    _, wire = fresh
    wire.ask(Start)
    samples = wire.take(Sample, 250)
    for sensor in (LEFT, RIGHT):
        own = of(sensor, samples)[1:]
        lines, off = gaps(own, 20_000)
        assert any(b.ticks_us < a.ticks_us for a, b in itertools.pairwise(own))
        assert set(lines) == {1}
        assert max(map(abs, off)) < 0.3


def test_sums_are_sums_of_one_g(two):
    bench, wire = two
    bench.do("place", sensor="all", face="+z")
    wire.ask(Start)
    samples = wire.take(Sample, 100)
    for sensor, counts_per_g in ((LEFT, 16384), (RIGHT, 16000)):
        own = of(sensor, samples)
        readings = sum(sample.readings for sample in own)
        assert sum(s.z for s in own) / readings == pytest.approx(counts_per_g, rel=0.002)
        assert sum(s.x for s in own) / readings == pytest.approx(0, abs=0.002 * counts_per_g)


@needs_posix("a pty: TCP holds more than the bench sends")
def test_an_output_that_nobody_reads_loses_lines_and_counts_them(two):
    bench, wire = two
    wire.ask(Rate, 200, 1)
    wire.ask(Start)
    wire.take(Sample, 20)
    bench.do("wait", for_s=5.0)  # 5 s × 400 lines × 50 bytes: five times what a pty holds
    samples = wire.take(Sample, 1500)
    state = wire.ask(Status)[0]
    lost = sum(gaps(of(LEFT, samples), 5_000)[0]) - len(of(LEFT, samples))
    assert lost > 200
    assert state.dropped + state.late > 200, "and the board knows of it"
    assert state.jitter_worst_us < 5_000, "a line begins less than a reading late: all else is left out, and late"
    assert max(map(abs, gaps(of(LEFT, samples), 5_000)[1])) < 2, "the sequence tells how long"


def test_ctrl_c_ends_the_program(fresh):
    bench, wire = fresh
    wire.ask(Start)
    wire.take(Sample, 20)
    wire.port.write(b"\x03")
    while wire.port.wait(POLL_S):
        wire.port.read()
    assert bench.do("reset", board="one")
    assert wire.next(lambda m: isinstance(m, Ok)).request == 0, "it starts anew and introduces itself"
    assert isinstance(wire.ask(Status)[0], State)


def test_a_damaged_request_is_told_and_the_next_one_is_heard(two):
    _, wire = two
    wire.port.write(b"status 1*00000000\n" + b"x" * 400 + b"\nok 3*2CD7593C\n\n")
    first, second = wire.take(Err, 2)
    assert (first.request, first.code, second.code) == (0, "checksum", "checksum")
    assert "checksum" in first.text
    assert "long" in second.text
    assert isinstance(wire.ask(Status)[0], State)
    assert len([m for m in wire.log if isinstance(m, Err)]) == 2, "an echo of the board's own words is not answered"
