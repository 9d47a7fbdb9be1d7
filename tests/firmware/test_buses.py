"""A microcontroller with one I2C controller: software runs its second bus, and one goes on without the other."""

from tests.firmware.conftest import gaps, of

from hingeline_protocol.messages import Fault, Hello, Sample, Sensor, Start

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
