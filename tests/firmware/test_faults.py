"""What each driver does when its chip or bus fails, beside a sensor on the other bus that must not notice."""

from statistics import median

import pytest
from tests.firmware.conftest import gaps, of

from hingeline_protocol.messages import (
    Err,
    Fault,
    Hello,
    Sample,
    SelfTest,
    Sensor,
    Start,
    Stop,
)

WITNESS = 128 + 104
LINE_US = 20_000

# A chip of each driver: its usual address and its counts per g, as in its datasheet.
DRIVERS = {
    "mpu6050": (0x68, 16384),
    "lis3dh": (0x18, 16000),
    "adxl345": (0x53, 256),
    "lsm6ds3": (0x6A, 1000 / 0.061),
    "icm42688": (0x68, 16384),
    "adxl355": (0x1D, 256000),
}
# The first register of its set-up that does not have the wanted value after power-on: that value, and the one it has.
FIRST_WRITTEN = {
    "mpu6050": "register 0x6B: wanted 0x01, got 0x40",
    "lis3dh": "register 0x23: wanted 0x88, got 0x00",
    "adxl345": "register 0x2C: wanted 0x0B, got 0x0A",
    "lsm6ds3": "register 0x12: wanted 0x44, got 0x04",
    "icm42688": "register 0x4E: wanted 0x03, got 0x00",
    "adxl355": "register 0x28: wanted 0x04, got 0x00",
}
SENSORS = """
[[boards.sensors]]
name = "tried"
chip = "{chip}"
[[boards.sensors]]
name = "witness"
chip = "mpu6050"
bus = 1
"""


@pytest.fixture(scope="module", params=DRIVERS)
def tried(request, connected):
    """A chip, a bench, and the wire to the board that carries the chip and a witness."""
    with connected(SENSORS.format(chip=request.param), head="speed = 0") as (bench, wire):
        bench.do("place", sensor="all", face="-y")
        yield request.param, bench, wire


def strike(bench, wire, kind):
    """Let the chip have a fault while it streams, and return what the board tells."""
    wire.ask(Stop)
    wire.log.clear()
    wire.ask(Start)
    wire.take(Sample, 10)
    answer = bench.begin("fault", sensor="tried", kind=kind)
    if kind in ("identity", "deaf"):  # asked who it is, and written to, only when it is set up again
        bench.answer(answer)
        answer = bench.begin("fault", sensor="tried", kind="reset")
    lost = wire.next(lambda m: isinstance(m, Fault))
    bench.answer(answer)
    return lost


@pytest.mark.parametrize(
    ("kind", "number"),
    [("absent", 5), ("nack", 5), ("stuck", 110), ("reset", 0), ("frozen", 0), ("identity", 0), ("deaf", 0)],
)
def test_it_is_told_its_lines_are_missing_until_it_is_back_and_the_other_sensor_goes_on(tried, kind, number):
    chip, bench, wire = tried
    sensor, counts_per_g = DRIVERS[chip]
    lost = strike(bench, wire, kind)
    assert (lost.sensor, lost.code, lost.number) == (sensor, "lost", number)
    if kind not in ("nack", "reset"):  # over when they have happened
        first = len(wire.log)
        wire.take(Sample, 30)
        assert not of(sensor, [m for m in wire.log[first:] if isinstance(m, Sample)])
        bench.do("mend", sensor="tried")
    back = wire.next(lambda m: isinstance(m, Fault))
    assert (back.sensor, back.code) == (sensor, "back")

    own = of(sensor, wire.take(Sample, 40))
    assert own[0].sequence == back.sequence
    readings = sum(sample.readings for sample in own)
    # 400 µg/√Hz over 0.4 s is 0.4 mg; 3 mg is more than five times that.
    assert sum(s.y for s in own) / readings == pytest.approx(-counts_per_g, rel=0.003), "as it was set up"
    assert sum(s.x for s in own) / readings == pytest.approx(0, abs=0.003 * counts_per_g)

    # The gap in the sequence is the time that is missing: by the median, since a busy machine may hold up single lines.
    former = of(sensor, [m for m in wire.log[: wire.log.index(lost)] if isinstance(m, Sample)])
    assert median(gaps([a, b], LINE_US)[1][0] for a in former for b in own) == pytest.approx(0, abs=1)

    lines, off = gaps(of(WITNESS, [m for m in wire.log if isinstance(m, Sample)])[1:], LINE_US)
    assert set(lines) == {1}, "the other sensor is not disturbed"
    assert max(map(abs, off)) < 1, (
        "a bus that hangs is given up after 5 ms; a busy machine may be late by a reading, half a line"
    )


def test_one_that_keeps_nothing_is_told_by_register_wanted_and_got_and_is_not_measured_with(tried):
    chip, bench, wire = tried
    sensor, _ = DRIVERS[chip]
    bus_and_address = f"bus 0 address 0x{sensor:02X}: "
    strike(bench, wire, "deaf")
    wire.ask(Stop)
    wire.until(lambda answers: [m.state for m in answers if isinstance(m, Sensor)] == ["setup", "ok"], Hello, 1, 1)
    assert [m.text for m in wire.log if isinstance(m, Err)][-1] == bus_and_address + FIRST_WRITTEN[chip]
    (refused,) = wire.ask(SelfTest, sensor)
    assert (refused.code, refused.text) == ("chip", bus_and_address + FIRST_WRITTEN[chip])
    bench.do("mend", sensor="tried")
    wire.until(lambda answers: [m.state for m in answers if isinstance(m, Sensor)] == ["ok", "ok"], Hello, 1, 1)
