"""A relative thermometer, such as the LIS3DH's, counts from an unknown origin: it is no room temperature."""

from dataclasses import replace

import pytest
from tests.host.procedures.scene import info

from hingeline.cli.commands.watch import _show
from hingeline.cli.screen import Screen
from hingeline.device.samples import Sample


@pytest.mark.parametrize(("thermometer", "is_shown"), [("absolute", True), ("relative", False)])
def test_a_relative_thermometer_shows_no_temperature(capsys, thermometer, is_shown):
    sensors = {"b-left": replace(info("b-left"), thermometer=thermometer)}
    sample = Sample("b-left", 1.0, (0.0, 0.0, 16384.0), 4, 3.5, 1)
    _show(Screen(as_json=False, asks=False), sample, sensors, {}, {})
    assert ("3.5 °C" in capsys.readouterr().out) is is_shown
