"""What is told of a board and its buses, from real firmware before a virtual bench."""

import pytest
from tests import boards
from tests.boards import board, sensor

from hingeline.device.description import board_fields, wired_text
from hingeline.device.install.installing import open_started

SCENARIO = board("alpha", sensor("left") + sensor("clone", "lis3dh"), uid="a1")


@pytest.fixture
def bench(tmp_path):
    """A board with two sensors on its first bus."""
    with boards.bench(tmp_path, SCENARIO) as bench:
        yield bench


def test_each_bus_is_told_with_its_pins_and_what_answers(bench):
    bench.do("fault", sensor="clone", kind="identity")
    link = open_started(bench.ports["alpha"])
    lines = wired_text(link, None).splitlines()
    assert lines[0].startswith('pico "alpha" at ')
    assert ", uid a1, firmware " in lines[0]
    # LIS2DW12 (WHO_AM_I 0x44) is the last chip that is sought at this address.
    assert lines[1] == "  bus 0 address 0x18: register 0x0F: wanted 0x44, got 0xA5"
    assert lines[2:] == [
        "  bus 0, SDA GP4 (pin 6), SCL GP5 (pin 7):",
        "    lis2dw12 on bus 0 at 0x18 answers as a chip that is not known",
        "    mpu6050 on bus 0 at 0x68 answers",
        "  bus 1, SDA GP6 (pin 9), SCL GP7 (pin 10):",
        "    nothing answers",
    ]
    fields = board_fields(link)
    assert [sensor["state"] for sensor in fields["sensors"]] == ["identity", "ok"]
    assert (fields["name"], fields["watchdog"]) == ("alpha", "off")
    link.close()
