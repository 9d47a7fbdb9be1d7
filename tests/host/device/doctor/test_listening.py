"""What the doctor says of a stream that is simulated: lines of a known rate, noise and temperature."""

import numpy as np
import pytest

from hingeline.device.doctor import listening
from hingeline.device.samples import Sample, SensorInfo
from hingeline_calibration.chips import CHIPS

COUNTS_PER_G = 16384
CHIP = "lis3dh"
UG_PER_RTHZ = np.array(CHIPS[CHIP].noise_ug_per_rthz)


def sensor(chip=CHIP, thermometer="absolute"):
    return SensorInfo("a", "pico", "COM3", chip, 0, 104, COUNTS_PER_G, 200, 44, thermometer, "ok")


def stream(*, rate_hz=50.0, noise=1.0, temperature_c=22.4, first=0, without=(), count=200):
    """Lines of white noise, so many times the datasheet's: a density n has n·√(rate/2) from line to line."""
    sd_counts = noise * UG_PER_RTHZ * 1e-6 * np.sqrt(rate_hz / 2) * COUNTS_PER_G
    counts = np.random.default_rng(5).normal((0, 0, COUNTS_PER_G), sd_counts, (count, 3))
    return [
        Sample("a", number / rate_hz, tuple(line), 4, temperature_c, (first + number) % 65536)
        for number, line in enumerate(counts)
        if number not in without
    ]


@pytest.mark.parametrize(
    ("options", "rate_hz", "is_wrong"),
    [
        ({}, 50.0, False),
        ({"rate_hz": 47.8}, 47.8, False),
        ({"rate_hz": 47.2}, 47.2, True),
        ({"rate_hz": 52.8}, 52.8, True),
        ({"without": range(50, 90)}, 50.0, False),  # lost on their way: the board made them
        ({"first": 65500}, 50.0, False),  # the count begins anew at 65536 (PROTOCOL.md)
        ({"count": 2}, 50.0, False),
        ({"count": 1}, 0.0, True),
    ],
)
def test_a_rate_is_counted_by_the_board(options, rate_hz, is_wrong):
    finding = listening._rate(sensor(), stream(**options))
    assert finding.figures["rate_hz"] == pytest.approx(rate_hz, abs=0.01)
    assert f"{rate_hz:.1f} lines/s, 50 asked for" in finding.text
    assert bool(finding.cure) is is_wrong


@pytest.mark.parametrize(
    ("noise", "cure"), [(1.0, ""), (0.06, ""), (0.03, "measures nothing"), (2.6, ""), (4.0, "solid")]
)
def test_a_noise_is_held_against_the_datasheet(noise, cure):
    finding = listening._noise(sensor(), stream(noise=noise, count=6000))
    # two minutes: averages of half a second and more are some hundred, which tell it to 7 %; twice that
    assert finding.figures["noise_ug_per_rthz"] == pytest.approx(noise * UG_PER_RTHZ, rel=0.14)
    assert cure in finding.cure
    assert bool(finding.cure) is bool(cure)


def test_one_axis_that_stands_still_or_rattles_is_enough():
    lines = stream(count=400)
    frozen = [line._replace(counts=(*line.counts[:2], float(COUNTS_PER_G))) for line in lines]
    assert "measures nothing" in listening._noise(sensor(), frozen).cure
    loud = [line._replace(counts=(5 * line.counts[0], *line.counts[1:])) for line in lines]
    assert "solid" in listening._noise(sensor(), loud).cure


def test_of_a_chip_without_a_datasheet_the_noise_is_told_alone():
    finding = listening._noise(sensor(chip="abacus"), stream(noise=9.0))
    assert "no datasheet figure known" in finding.text
    assert finding.cure == ""


def test_of_a_second_nothing_is_said_of_noise_and_temperature():
    """Too few lines: a sensor that vanishes."""
    few = stream(count=49)
    assert "vanishes" in listening._noise(sensor(), few).cure
    assert "no temperature" in listening._temperature(sensor(), few).text


@pytest.mark.parametrize(
    ("thermometer", "temperature_c", "text"),
    [
        ("absolute", 22.4, "22.4 °C"),
        ("relative", 22.4, "its thermometer shows changes only"),
        ("none", None, "no temperature: let it warm up for a quarter of an hour before a datum"),
    ],
)
def test_a_temperature_is_told_as_the_chip_has_it(thermometer, temperature_c, text):
    assert listening._temperature(sensor(thermometer=thermometer), stream(temperature_c=temperature_c)).text == text
