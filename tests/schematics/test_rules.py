"""The rule checker finds what it is for, and nothing in the builds we draw."""

import json
from dataclasses import replace
from importlib.resources import files

import pytest
import rules
import wiring

from hingeline.device.install.pin_maps import pin_maps, read_pin_map


@pytest.fixture
def build():
    """The Pico with two MPU-6050 modules."""
    return next(build for build in wiring.builds() if build.name == "pico-mpu6050-x2")


def with_module(build, at, **changes):
    modules = list(build.modules)
    modules[at] = replace(modules[at], **changes)
    return replace(build, modules=tuple(modules))


@pytest.mark.parametrize("build", wiring.builds(), ids=lambda build: build.name)
def test_every_build_is_sound(build):
    assert rules.check(build) == []


def test_no_module_of_a_build_is_left_out():
    """Two buses with one address each have no place for four."""
    with pytest.raises(ValueError, match="shorter"):
        wiring._row(pin_maps()["pico2"], {"chip": "mpu6050", "addresses": {"104": "GND"}}, 4)


def test_a_pin_that_serves_two_nets_is_named(build):
    pins = tuple(replace(pin, at="6") if pin.at == "9" else pin for pin in build.pins)
    assert rules.check(replace(build, pins=pins)) == [
        "pico-mpu6050-x2: pin 6 serves SDA0 and SDA1, expected one of them"
    ]


def changed_board(name, line, gpio):
    """A board with two modules, its pin map otherwise: a line of bus 1 on another GPIO."""
    row = json.loads(files("hingeline_firmware").joinpath(f"pinmaps/{name}.json").read_text(encoding="utf-8"))
    row["buses"][1][line] = gpio
    return row


def wired(row):
    parts = {part["chip"]: part for part in wiring.modules()}
    return wiring.build(wiring._row(read_pin_map(row), parts["mpu6050"], 2), parts)


@pytest.mark.parametrize(
    ("line", "gpio", "message"),
    [
        ("sda", 5, "pin 7 serves SDA1 and SCL0, expected one of them"),
        ("sda", 7, "pin 10 serves SDA1 and SCL1, expected one of them"),
        ("scl", 5, "pin 7 serves SCL0 and SCL1, expected one of them"),
    ],
)
def test_a_pin_map_with_a_conflict_is_named(line, gpio, message):
    assert rules.check(wired(changed_board("pico", line, gpio))) == [f"pico-mpu6050-x2: {message}"]


def test_a_pin_map_whose_bus_is_on_a_pin_that_the_board_keeps_is_named():
    problems = rules.check(wired(changed_board("esp32", "sda", 1)))
    assert problems == ["esp32-mpu6050-x2: pin J3-4 serves SDA1 and console, expected one of them"]


def test_a_net_without_a_pin_is_named(build):
    pins = tuple(pin for pin in build.pins if pin.net != "SCL1")
    assert rules.check(replace(build, pins=pins)) == ["pico-mpu6050-x2: SCL1 is on no pin of the board, expected one"]


def test_two_modules_of_one_address_are_named(build):
    (problem,) = rules.check(with_module(build, 1, bus=0))
    assert "left and right have address 0x68 on bus 0" in problem


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"lead_m": 0.8}, "left: lead of 0.8 m, expected at most 0.5 m"),
        ({"supply_v": (4.5, 5.5)}, "left: supply 3.3 V, its chip takes 4.5 to 5.5 V"),
        # 3.3 V + 0.3 V: an ESP32's input, VIH (from memory); an RP2040 bears IOVDD + 0.5 V (from memory).
        ({"signal_v": 5.0}, "left: its SDA and SCL are pulled up to 5.0 V, a pin of the board bears 3.6 V"),
        # 0.7 · 3.3 V: UM10204, table 10, VIH.
        ({"signal_v": 1.8}, "left: its SDA and SCL are pulled up to 1.8 V, expected at least 2.31 V"),
        # Rp(min) = (3.3 V - 0.4 V) / 3 mA = 967 Ω: NXP UM10204, section 7.1.
        ({"pull_up_ohm": 900.0}, "bus 0: pull-ups of 900 Ω in parallel, expected at least 967 Ω"),
        # 0.8473 · 47 kΩ · 60 pF: UM10204, equation 3.
        ({"pull_up_ohm": 47000.0}, "bus 0: rises in 2389 ns, expected at most 1000 ns"),
    ],
)
def test_a_module_that_breaks_a_rule_is_named(build, changes, message):
    (problem,) = rules.check(with_module(build, 0, **changes))
    assert message in problem


@pytest.mark.parametrize(
    ("pulled_up_to", "bad"),
    # pull-ups, or the level shifter's, on the supply pin; behind a regulator; a level shifter with its own supply
    [("supply", True), (3.3, False), (5.0, True)],
)
def test_a_module_fed_with_5_v_is_named_where_its_lines_follow(pulled_up_to, bad):
    parts = {part["chip"]: part for part in wiring.modules()}
    part = parts["mpu6050"]
    parts["mpu6050"] = {**part, "pins": {**part["pins"], "VCC": "5V"}, "pulled_up_to": pulled_up_to}
    left = {"label": "left", "chip": "mpu6050", "bus": 0, "address": 104, "lead_m": 0.4}
    problems = rules.check(wiring.build({"name": "five", "board": pin_maps()["pico"], "sensors": [left]}, parts))
    assert "five: 5V is on no pin of the board, expected one" in problems
    assert any("pulled up to 5.0 V" in problem for problem in problems) is bad


def test_a_bus_with_too_long_leads_is_named(build):
    problems = rules.check(with_module(build, 0, lead_m=4.0))
    assert any("bus 0: 420 pF, expected at most 400 pF" in problem for problem in problems)


def test_more_than_four_sensors_are_too_many(build):
    five = replace(build, modules=build.modules * 2 + build.modules[:1])
    assert "pico-mpu6050-x2: 5 sensors, expected at most 4" in rules.check(five)
