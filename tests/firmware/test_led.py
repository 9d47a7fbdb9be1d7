"""The LED of a board, by its pin map: lit or not is what PROTOCOL.md says of a board that is identified."""

import importlib
import itertools
import sys
import time
from types import ModuleType

import pytest

TICKS = 1 << 30
EACH_MS = 10


@pytest.fixture
def clock(monkeypatch):
    """A clock in ms and the level of each pin, for the firmware on CPython."""
    state = {"ms": 0, "levels": {}}

    class Pin:
        OUT = 1

        def __init__(self, number, mode, value):
            if number == "nowhere":
                raise ValueError("unknown pin")
            self.number = number
            self.value(value)

        def value(self, level):
            state["levels"][self.number] = level

    machine = ModuleType("machine")
    machine.Pin = Pin
    monkeypatch.setitem(sys.modules, "machine", machine)
    monkeypatch.setattr(time, "ticks_ms", lambda: state["ms"] % TICKS, raising=False)
    monkeypatch.setattr(time, "ticks_add", lambda ticks, delta: (ticks + delta) % TICKS, raising=False)
    monkeypatch.setattr(time, "ticks_diff", lambda a, b: (a - b + TICKS // 2) % TICKS - TICKS // 2, raising=False)
    monkeypatch.delitem(sys.modules, "hingeline_firmware.led", raising=False)
    yield state
    sys.modules.pop("hingeline_firmware.led", None)


def led(row):
    return importlib.import_module("hingeline_firmware.led").Led(row)


def lit_ms(light, clock, *, streams=False, wrong=False, lit=1, for_ms=1000):
    """How long of this time the LED is lit, and how often it changes."""
    levels = []
    for _ in range(0, for_ms, EACH_MS):
        light.step(streams, wrong)
        levels.append(clock["levels"][25] == lit)
        clock["ms"] += EACH_MS
    changes = sum(a != b for a, b in itertools.pairwise(levels))
    return EACH_MS * sum(levels), changes


@pytest.mark.parametrize("lit", [0, 1])
def test_it_is_off_flashes_while_lines_are_sent_and_blinks_while_a_sensor_is_wrong(clock, lit):
    light = led({"pin": 25, "lit": lit})
    assert lit_ms(light, clock, lit=lit) == (0, 0)
    assert lit_ms(light, clock, lit=lit, streams=True)[0] == 50
    assert lit_ms(light, clock, lit=lit, streams=True, wrong=True) == (500, 1)


def test_it_blinks_fast_while_it_is_identified_and_no_longer(clock):
    light = led({"pin": 25, "lit": 1})
    light.identify(2)
    assert lit_ms(light, clock, wrong=True, for_ms=2000) == (1000, 19)
    assert lit_ms(light, clock) == (0, 0)


def test_a_board_without_an_led_or_with_one_that_its_micropython_does_not_know_works(clock):
    for row in (None, {"pin": "nowhere", "lit": 1}):
        light = led(row)
        light.identify(2)
        light.step(True, True)
    assert clock["levels"] == {}
