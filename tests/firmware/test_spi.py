"""SPI buses under the real MicroPython: two SCL3300 on common lines, each with its CS."""

import pytest

from hingeline_firmware import config
from hingeline_protocol.messages import Err, Fault, Sample, Start

PAIR = "\n".join(f'[[boards.sensors]]\nname = "s{bus}"\nchip = "scl3300"\nbus = {bus}' for bus in (2, 3))
BOARDS = ("pico", "esp32", "qtpy_rp2040", "rp2040_zero", "xiao_rp2040", "esp32_s3")


@pytest.mark.parametrize("pins", BOARDS)
def test_two_chips_share_all_lines_but_cs(connected, pins):
    with connected(PAIR, "speed = 0", f'pins = "{pins}"') as (bench, wire):
        bench.do("place", sensor="s2", face="+x")
        bench.do("place", sensor="s3", face="-y")
        wire.ask(Start)
        lines = wire.take(Sample, 60)
    last = {line.sensor: line for line in lines}
    assert set(last) == {2 * 128, 3 * 128}
    # Neighbouring counts are 0.17 mg; 2 mg is more than ten times the noise of four readings.
    assert [v / last[256].readings for v in last[256][4:7]] == pytest.approx([6000, 0, 0], abs=12)
    assert [v / last[384].readings for v in last[384][4:7]] == pytest.approx([0, -6000, 0], abs=12)


def test_one_that_is_unplugged_is_lost_and_comes_back_while_the_other_goes_on(connected):
    with connected(PAIR, "speed = 0") as (bench, wire):
        wire.ask(Start)
        wire.take(Sample, 20)
        bench.do("fault", sensor="s3", kind="absent")
        lost = wire.next(lambda message: isinstance(message, Fault))
        assert (lost.sensor, lost.code) == (384, "lost")
        assert {line.sensor for line in wire.take(Sample, 40)[10:]} == {256}
        bench.do("mend", sensor="s3")
        back = wire.next(lambda message: isinstance(message, Fault))
        assert (back.sensor, back.code) == (384, "back")
        line = wire.next(lambda message: isinstance(message, Sample) and message.sensor == 384)
        assert line.z / line.readings == pytest.approx(6000, abs=30)


@pytest.mark.parametrize(
    ("values", "reason"),
    [
        ({"sensors": [{"chip": "scl3300", "bus": 2, "address": 0}]}, "no bus 2 for scl3300"),
        ({"spi": True, "sensors": [{"chip": "scl3300", "bus": 0, "address": 0}]}, "no bus 0 for scl3300"),
        ({"spi": True, "sensors": [{"chip": "lis3dh", "bus": 2, "address": 0x18}]}, "no bus 2 for lis3dh"),
        ({"spi": True, "buses": [{"id": 0, "sda": 18, "scl": 21}]}, "pin 18 serves the SPI"),
        ({"spi": True, "buses": [{"id": 2, "sda": 4, "scl": 5}]}, "id 2: expected once"),
        ({"spi": 1}, "spi: expected true or false"),
    ],
)
def test_a_configuration_that_can_not_be_wired_is_refused(values, reason, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(config.ConfigError, match=reason):
        config.change({"board": "pico", **values})


def test_what_can_be_wired_is_kept(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    sensors = [{"chip": "scl3300", "bus": bus, "address": 0} for bus in (2, 3)]
    config.change({"board": "pico", "spi": True, "sensors": sensors})
    assert config.load()["sensors"] == sensors


def test_without_the_setting_the_pins_stay_free(connected):
    with connected('[[boards.sensors]]\nname = "a"\nchip = "lis3dh"', "speed = 0") as (_, wire):
        assert {sensor.bus for sensor in wire.ask_sensors()} == {0}
        assert not [message for message in wire.log if isinstance(message, Err)]
