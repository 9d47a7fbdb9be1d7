"""Chips with a FIFO: no sample is lost or doubled, whatever their clock; many of them fit on a board."""

import pytest
from tests.firmware.conftest import gaps, of

from hingeline_protocol.messages import TICKS_PERIOD_US, Fault, Rate, Sample, Start, Status, Stop

LEFT = 104
FOUR = [(bus, address) for bus in (0, 1) for address in (0x68, 0x69)]


def sensors(*places, more=""):
    return "\n".join(
        f'[[boards.sensors]]\nname = "s{bus}{address}"\nchip = "mpu6050"\nbus = {bus}\naddress = {address}\n{more}'
        for bus, address in places
    )


@pytest.mark.parametrize("clock_percent", [-5.0, -1.0, 0.0, 1.0, 5.0])
def test_every_sample_of_a_chip_is_in_a_line_once_whatever_its_clock(connected, clock_percent):
    with connected(sensors((0, 0x68), more=f"clock_percent = {clock_percent}"), "speed = 0") as (_, wire):
        wire.ask(Start)
        lines = wire.take(Sample, 300)[1:]
        wire.ask(Stop)
    passed_s = ((lines[-1].ticks_us - lines[0].ticks_us) % TICKS_PERIOD_US) / 1e6
    samples = sum(line.readings for line in lines[:-1])
    # 200 samples a second by the chip's clock (SMPLRT_DIV 4 of 1 kHz); one may be on either side of each end
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
