"""The watchdog, on real MicroPython: armed by the first `start`, fed by a program that goes on, in nobody's way."""

import json
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest
from tests.boards import PAIR
from tests.firmware.installed import environment
from tests.posix import needs_posix
from tests.unix_port import micropython

from hingeline_protocol.messages import About, Err, Fault, Hello, Ok, Rate, Sample, Start, Status, Stop

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
TIMEOUT_S = 8
LONGEST_MS = 6000
"""PROTOCOL.md, Watchdog."""
SPEED = "speed = 20"


@pytest.fixture(scope="module")
def any_guarded(connected):
    """A bench, and the wire to its board, whose configuration asks for the watchdog."""
    with connected(PAIR, head=SPEED, board="watchdog = true") as setup:
        yield setup


@pytest.fixture
def guarded(any_guarded):
    """The same, the board just started by its button, and nothing wrong with it."""
    bench, wire = any_guarded
    bench.do("mend", sensor="all")
    bench.do("reset", board="one")
    wire.next(lambda m: isinstance(m, About) and m.request == 0 and m.reset == "button")
    wire.next(lambda m: isinstance(m, Ok) and m.request == 0)
    wire.log.clear()
    return any_guarded


def about(wire):
    """What a board tells of itself when asked."""
    return next(answer for answer in wire.ask(Hello, 1, 1) if isinstance(answer, About))


def started(wire):
    """The reason that a board gives for its start, once it has introduced itself unasked."""
    about = wire.next(lambda m: isinstance(m, About) and m.request == 0)
    wire.next(lambda m: isinstance(m, Ok) and m.request == 0)
    return about.reset


def test_a_program_that_hangs_is_restarted_says_why_and_streams_again(guarded):
    bench, wire = guarded
    assert about(wire)[1:] == ("button", "ready", "one")
    wire.ask(Start)
    assert about(wire).watchdog == "armed"
    wire.take(Sample, 20)
    began_s = bench.do("fault", sensor="left", kind="block")["began_s"]
    assert started(wire) == "watchdog"
    assert about(wire).watchdog == "ready", "a restart disarms it"
    wire.ask(Start)
    samples = wire.take(Sample, 40)
    assert {sample.sensor for sample in samples} == {104, 128 + 24}
    bench.do("truth")  # with its answer comes what the bench told before
    assert bench.boards["one"]["scene_s"] - began_s == pytest.approx(TIMEOUT_S, abs=1.5)


@pytest.mark.long
def test_without_it_a_program_that_hangs_stays_silent_until_it_is_reset(connected):
    with connected(PAIR, head=SPEED) as (bench, wire):
        assert about(wire).watchdog == "off"
        wire.ask(Start)
        assert about(wire).watchdog == "off"
        wire.take(Sample, 20)
        bench.do("fault", sensor="left", kind="block")
        bench.do("wait", for_s=2 * TIMEOUT_S)
        bench.do("reset", board="one")
        assert started(wire) == "button"
        assert not [m for m in wire.log if isinstance(m, About) and m.reset == "watchdog"]


@needs_posix("a pty: TCP holds more than the bench sends")
def test_it_lets_a_board_be_that_nobody_reads_whose_bus_is_stuck_or_that_rests(guarded):
    bench, wire = guarded
    wire.ask(Rate, 50, 1)
    wire.ask(Start)
    bench.do("wait", for_s=3 * TIMEOUT_S)  # 24 s × 100 lines × 50 bytes: six times what a pty holds
    wire.until(lambda answers: answers[0].dropped > 200, Status)
    bench.do("fault", sensor="left", kind="stuck")
    wire.next(lambda m: isinstance(m, Fault) and m.code == "lost")
    wire.take(Sample, 50 * 2 * TIMEOUT_S)
    wire.ask(Stop)
    bench.do("wait", for_s=2 * TIMEOUT_S)
    assert about(wire)[1:3] == ("button", "armed")


def test_ctrl_c_restarts_an_armed_board_and_ends_an_unarmed_program(guarded):
    bench, wire = guarded
    wire.ask(Start)
    wire.take(Sample, 20)
    wire.port.write(b"\x03")
    assert started(wire) == "button"
    assert isinstance(wire.ask(Status)[0], tuple)
    wire.port.write(b"\x03")
    bench.do("wait", for_s=2 * TIMEOUT_S)
    bench.do("reset", board="one")
    assert started(wire) == "button", "and nothing bit it at the prompt"
    assert not [m for m in wire.log if isinstance(m, Err)]


def test_whatever_a_sound_board_does_and_whoever_holds_it_up_it_feeds_in_time(tmp_path):
    run = subprocess.run(
        [micropython(), HERE / "feeding.py"],
        cwd=tmp_path,
        env=environment(),
        capture_output=True,
        text=True,
        check=True,
    )
    longest_ms = json.loads(run.stdout)
    assert len(longest_ms) == 14
    assert max(longest_ms.values()) == pytest.approx(LONGEST_MS, rel=0.05), longest_ms


RP2 = {"PWRON_RESET": 1, "WDT_RESET": 3}
ESP32 = {"PWRON_RESET": 1, "HARD_RESET": 2, "WDT_RESET": 3, "DEEPSLEEP_RESET": 4, "SOFT_RESET": 5}


@pytest.mark.parametrize(
    ("constants", "cause", "word"),
    # MicroPython's ports/esp32/modmachine.c, and ports/rp2/modmachine.c from memory
    [(RP2, 1, "power"), (RP2, 3, "watchdog"), (RP2, 2, "unknown")]
    + [(ESP32, 1 + at, word) for at, word in enumerate(["power", "button", "watchdog", "sleep", "program"])],
)
def test_each_port_s_reason_has_its_word(monkeypatch, constants, cause, word):
    machine = ModuleType("machine")
    machine.__dict__.update(constants, reset_cause=lambda: cause)
    monkeypatch.setitem(sys.modules, "machine", machine)
    monkeypatch.delitem(sys.modules, "hingeline_firmware.watchdog", raising=False)
    from hingeline_firmware.watchdog import reset_cause

    assert reset_cause() == word
