"""A microcontroller with one I2C controller: software runs its second bus, and one goes on without the other."""

import subprocess
import sys
import time
from types import ModuleType

from tests.firmware.conftest import gaps, of
from tests.firmware.installed import environment
from tests.unix_port import micropython

from hingeline_protocol.messages import Fault, Hello, Sample, Sensor, Start, Stop

SENSORS = """
[[boards.sensors]]
name = "left"
chip = "mpu6050"
[[boards.sensors]]
name = "right"
chip = "mpu6050"
bus = 1
"""
LEFT, RIGHT = 104, 128 + 104


def test_both_buses_stream_and_one_that_hangs_does_not_disturb_the_other(connected):
    with connected(SENSORS, head="speed = 0", board='pins = "esp32_c3"') as (bench, wire):
        board, *answers = wire.ask(Hello, 1, 1)
        assert board.board == "esp32_c3"
        sensors = [(sensor.sensor, sensor.state) for sensor in answers if isinstance(sensor, Sensor)]
        assert sensors == [(LEFT, "ok"), (RIGHT, "ok")]
        wire.ask(Start)
        samples = wire.take(Sample, 40)
        assert len(of(LEFT, samples)) >= 19
        assert len(of(RIGHT, samples)) >= 19
        bench.do("fault", sensor="left", kind="stuck")
        lost = wire.next(lambda m: isinstance(m, Fault))
        assert (lost.sensor, lost.code) == (LEFT, "lost")
        first = len(wire.log)
        wire.take(Sample, 40)
        assert not of(LEFT, [m for m in wire.log[first:] if isinstance(m, Sample)])
        lines, _ = gaps(of(RIGHT, [m for m in wire.log if isinstance(m, Sample)])[1:], 20_000)
        assert set(lines) == {1}


def test_a_chip_that_holds_the_bus_when_the_board_starts_is_freed_by_nine_clocks(connected):
    """A reset falls into a transfer: the chip waits for the rest of its clocks, and no address is heard."""
    with connected(SENSORS, head="speed = 0") as (bench, wire):
        bench.do("fault", sensor="left", kind="held")
        bench.do("reset", board="one")
        answers = wire.until(lambda answers: answers[0].sensors == 2, Hello, 1, 1)
        sensors = [answer for answer in answers if isinstance(answer, Sensor)]
        assert [(sensor.sensor, sensor.state) for sensor in sensors] == [(LEFT, "ok"), (RIGHT, "ok")]


def test_a_chip_that_holds_the_bus_in_mid_stream_is_back_at_the_next_try(connected):
    with connected(SENSORS, head="speed = 0") as (bench, wire):
        wire.ask(Start)
        wire.take(Sample, 10)
        bench.do("fault", sensor="left", kind="held")
        lost = wire.next(lambda m: isinstance(m, Fault))
        back = wire.next(lambda m: isinstance(m, Fault))
        assert [(m.sensor, m.code) for m in (lost, back)] == [(LEFT, "lost"), (LEFT, "back")]
        # asked again after 200 ms, reset for 10 ms, settled for 100 ms: PROTOCOL.md, Unasked
        assert (back.ticks_us - lost.ticks_us) % (1 << 30) < 400_000
        wire.ask(Stop)


def test_an_esp32_whose_i2c_counts_in_ticks_waits_for_two_of_them():
    """A timeout of 5 ms rounds to none there."""
    run = subprocess.run(
        [
            micropython(),
            "-c",
            "import sys; sys.modules['machine'] = type('m', (), {'I2C': 0, 'Pin': 0}); "
            "from hingeline_firmware.buses import hanging_us as h; "
            "print(h('rp2', (1, 29)), h('esp32', (1, 28)), h('esp32', (1, 29)), h('esp32', (2, 0)))",
        ],
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.split() == ["5000", "5000", "20000", "20000"]


def test_a_bus_is_slow_unless_the_configuration_lets_it_be_fast(monkeypatch):
    """100 kbit/s bears leads of half a metre: NXP UM10204, standard mode."""
    opened = []

    class Pin:
        OPEN_DRAIN = PULL_UP = 1

        def __init__(self, number, *_, value=1):
            self.number = number

        def value(self, level=1):
            return level

    machine = ModuleType("machine")
    machine.Pin = Pin
    machine.I2C = lambda number, scl, sda, freq, timeout: opened.append((number, scl.number, sda.number, freq))
    monkeypatch.setitem(sys.modules, "machine", machine)
    monkeypatch.setattr(time, "sleep_us", lambda wait_us: None, raising=False)
    monkeypatch.setattr(time, "sleep_ms", lambda wait_ms: None, raising=False)
    for name in ("ticks_add", "ticks_diff", "ticks_us"):
        monkeypatch.setattr(time, name, None, raising=False)
    monkeypatch.delitem(sys.modules, "hingeline_firmware.buses", raising=False)
    from hingeline_firmware.buses import open_buses

    open_buses([{"id": 0, "sda": 4, "scl": 5}, {"id": 1, "sda": 6, "scl": 7}], 2, [{"id": 1, "hz": 400_000}])
    assert opened == [(0, 5, 4, 100_000), (1, 7, 6, 400_000)]
