"""Chips with a FIFO: no sample is lost or doubled, whatever their clock; many of them fit on a board."""

import re

import pytest
from tests.firmware.conftest import gaps, of

from hingeline_protocol.messages import TICKS_PERIOD_US, Err, Fault, Hello, Rate, Sample, Start, Status, Stop, Timing

LEFT = 104
FOUR = [(bus, address) for bus in (0, 1) for address in (0x68, 0x69)]


def sensors(*places, more=""):
    return "\n".join(
        f'[[boards.sensors]]\nname = "s{bus}{address}"\nchip = "mpu6050"\nbus = {bus}\naddress = {address}\n{more}'
        for bus, address in places
    )


@pytest.mark.parametrize("chip", ["mpu6050", "mpu6500", "lis3dh", "lis2dw12"])
@pytest.mark.parametrize("clock_percent", [-5.0, 0.0, 5.0])
def test_every_sample_of_a_chip_is_in_a_line_once_whatever_its_clock(connected, chip, clock_percent):
    sensor = f'[[boards.sensors]]\nname = "s"\nchip = "{chip}"\nclock_percent = {clock_percent}'
    with connected(sensor, "speed = 0") as (_, wire):
        wire.ask(Start)
        lines = wire.take(Sample, 300)[1:]
        wire.ask(Stop)
    passed_s = ((lines[-1].ticks_us - lines[0].ticks_us) % TICKS_PERIOD_US) / 1e6
    samples = sum(line.readings for line in lines[:-1])
    # 200 samples a second by the chip's clock, as the drivers ask for; one may be on either side of each end
    assert samples == pytest.approx(passed_s * 200 * (1 + clock_percent / 100), abs=2)
    assert set(gaps(lines, 20_000)[0]) == {1}


def test_four_sensors_keep_the_usual_rate_and_lose_nothing(connected):
    """At 100 kbit/s, by the bench's clock: each transfer costs its bits and 60 µs."""
    with connected(sensors(*FOUR), "speed = 0") as (_, wire):
        wire.ask(Start)
        lines = wire.take(Sample, 4 * 150)
        state = wire.ask(Status)[0]
        wire.ask(Stop)
    assert state.late == 0
    for bus, address in FOUR:
        own = of(bus * 128 + address, lines)[1:]
        assert len(own) >= 145
        assert set(gaps(own, 20_000)[0]) == {1}
        assert sum(line.readings for line in own) == pytest.approx(4 * len(own), abs=3)


@pytest.mark.parametrize(("lines_hz", "readings"), [(10, 20), (2, 100), (100, 2), (5, 5)])
def test_a_line_holds_what_was_measured_in_its_time_at_any_rate(connected, lines_hz, readings):
    with connected(sensors((0, 0x68)), "speed = 0") as (_, wire):
        wire.ask(Rate, lines_hz, readings)
        wire.ask(Start)
        lines = wire.take(Sample, 12)[2:]
    assert sum(line.readings for line in lines) == pytest.approx(200 / lines_hz * len(lines), abs=3)


def test_where_the_board_looks_too_seldom_for_a_fifo_it_reads_one_measurement_at_a_time(connected):
    with connected(sensors((0, 0x68)), "speed = 0") as (_, wire):
        wire.ask(Rate, 2, 2)
        wire.ask(Start)
        lines = wire.take(Sample, 6)[1:]
    assert {line.readings for line in lines} == {2}


def test_after_a_chip_was_lost_its_lines_hold_nothing_of_before(connected):
    with connected(sensors((0, 0x68)), "speed = 0") as (bench, wire):
        wire.ask(Start)
        wire.take(Sample, 20)
        bench.do("fault", sensor="all", kind="absent")
        wire.next(lambda message: isinstance(message, Fault))
        bench.do("mend", sensor="all")
        back = wire.next(lambda message: isinstance(message, Fault))
        assert back.code == "back"
        lines = wire.take(Sample, 10)
    assert max(line.readings for line in lines) <= 5


def test_a_board_says_when_its_values_are_of(connected):
    """4.9 ms: RM-MPU-6000A, DLPF_CFG 3; the ADXL345's 100 Hz as of one pole, and half of its 5 ms."""
    adxl345 = '[[boards.sensors]]\nname = "other"\nchip = "adxl345"\nbus = 1\n'
    with connected(sensors((0, 0x68)) + adxl345, "speed = 0") as (_, wire):
        timings = [answer for answer in wire.ask(Hello, 1, 1) if isinstance(answer, Timing)]
    assert [timing[1:] for timing in timings] == [(104, 4900, 0, 1, 0), (211, 1591, 2500, 0, 0)]


def test_a_board_that_is_too_slow_for_its_sensors_says_which_rate_it_holds(connected):
    """A transfer of 16 bytes takes 1.44 ms at 100 kbit/s: four ADXL355 take more than the 5 ms of a reading."""
    four = "\n".join(
        f'[[boards.sensors]]\nname = "s{i}"\nchip = "adxl355"\nbus = {bus}\naddress = {address}'
        for i, (bus, address) in enumerate([(0, 0x1D), (0, 0x53), (1, 0x1D), (1, 0x53)])
    )
    with connected(four, "speed = 0") as (_, wire):
        wire.ask(Hello, 1, 1)
        (text,) = [message.text for message in wire.log[-12:] if isinstance(message, Err)]
    figures = re.fullmatch(r"reading the sensors takes (\d+) us, so at most (\d+) readings/s: take fewer, or .*", text)
    assert 4 * 1440 < int(figures[1]) < 4 * 1700
    assert int(figures[2]) == 1_000_000 // int(figures[1])
