"""The whole bench: real firmware in children, real ports, commands by JSON lines."""

import json
import math
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import serial
from tests.boards import LEFT, RIGHT, board, sensor
from tests.firmware.conftest import Wire
from tests.posix import needs_posix, termios

from hingeline.device.install.configuration import configure
from hingeline.device.install.installing import install
from hingeline.errors import ScenarioError
from hingeline_protocol.messages import TICKS_PERIOD_US, About, Board, Fault, Hello, Sample, Start
from hingeline_virtual.client import VirtualBench

FIRST_TICKS_US = 1_073_000_000
SCENARIO = f"""
seed = 3
speed = 10

[table]
tilt_deg = 1.0

{board("one", first_ticks_us=FIRST_TICKS_US)}
{board("two", sensor("tail"))}
[[surfaces]]
name = "flap"
side = "left"
positions = {{ up = 20 }}
"""
COUNTS_PER_G = {LEFT: 16384, RIGHT: 16000}


@pytest.fixture(scope="module")
def scenario(tmp_path_factory) -> Path:
    path = tmp_path_factory.mktemp("scenario") / "two-boards.toml"
    path.write_text(SCENARIO)
    return path


@pytest.fixture(scope="module")
def bench(scenario):
    with VirtualBench(scenario) as bench:
        yield bench


@pytest.fixture
def wire(bench):
    with Wire(bench.ports["one"]) as wire:
        wire.ask(Hello, 1, 1)
        wire.ask(Start)
        yield wire


def fresh_g(bench, wire, sensor, since_s, count=20):
    """The mean in g of the sensor's samples from a scene time on."""
    begun = bench.boards["one"]

    def fresh(message):
        if not isinstance(message, Sample) or message.sensor != sensor:
            return False
        ticks_us = message.ticks_us - FIRST_TICKS_US
        return begun["scene_s"] + ticks_us % TICKS_PERIOD_US / 1e6 > since_s

    lines = [wire.next(fresh) for _ in range(count)]
    sums = np.array([[line.x, line.y, line.z] for line in lines]).sum(axis=0)
    return sums / sum(line.readings for line in lines) / COUNTS_PER_G[sensor]


def test_it_tells_boards_ports_and_sensors(bench):
    assert set(bench.boards) == {"one", "two"}
    assert bench.boards["one"]["sensors"] == [
        {"name": "left", "chip": "mpu6050", "bus": 0, "address": 0x68},
        {"name": "right", "chip": "lis3dh", "bus": 1, "address": 0x18},
    ]
    assert bench.boards["one"]["uid"] != bench.boards["two"]["uid"]


def test_what_a_board_says_is_what_the_scene_is(bench, wire):
    answer = bench.do("place", sensor=["left", "right"], face="-y")
    truth = {sensor["sensor"]: sensor["up"] for sensor in answer["sensors"]}
    for index, name in ((LEFT, "left"), (RIGHT, "right")):
        got = fresh_g(bench, wire, index, answer["settled_s"])
        np.testing.assert_allclose(got, truth[name], atol=0.002)
    bench.do("tape", sensor="left", surface="flap")
    answer = bench.do("stick", position="up")
    got = fresh_g(bench, wire, LEFT, answer["settled_s"])
    assert math.degrees(math.atan2(got[1], got[2])) == pytest.approx(20.0, abs=0.2)


def test_an_answer_comes_when_all_has_settled(bench):
    answer = bench.do("deflect", surface="flap", deflection_deg=-10, over_s=1.0)
    assert answer["settled_s"] > answer["began_s"] + 1.0
    assert answer["scene_s"] >= answer["settled_s"]
    assert answer["surfaces"][0]["deflection_deg"] == -10


def test_commands_can_overlap(bench):
    first = bench.begin("deflect", surface="flap", deflection_deg=10, over_s=2.0)
    second = bench.begin("truth", after_s=1.0)
    midway, ended = bench.answer(second), bench.answer(first)
    assert midway["settled_s"] == pytest.approx(ended["began_s"] + 1.0)
    assert -9 < midway["surfaces"][0]["deflection_deg"] < 9


@pytest.mark.parametrize(
    ("do", "keys", "message"),
    [
        ("place", {"sensor": "fin", "face": "+z"}, "no sensor `fin`.*left, right, tail"),
        ("tape", {"sensor": "left", "surface": "fin"}, "no surface `fin`.*flap"),
        ("stick", {"position": "crow"}, "no surface has a position `crow`.*neutral, up"),
        ("plug", {"board": "one"}, "is plugged"),
        ("unplug", {"board": "three"}, "no board `three`"),
        ("sing", {}, "do"),
    ],
)
def test_a_wrong_command_is_refused_and_the_bench_goes_on(bench, do, keys, message):
    with pytest.raises(ScenarioError, match=message):
        bench.do(do, **keys)
    assert bench.do("truth")["event"] == "settled"


def test_ticks_wrap_as_on_a_32_bit_board(bench, wire):
    # It began less than a second before its counter's end.
    wire.next(lambda m: isinstance(m, Sample) and m.ticks_us < TICKS_PERIOD_US // 2)
    lines = wire.take(Sample, 50)
    assert max(line.ticks_us for line in lines) < TICKS_PERIOD_US // 2


def test_a_chip_that_goes_and_comes_back(bench, wire):
    bench.do("fault", sensor="right", kind="absent")
    assert wire.next(lambda m: isinstance(m, Fault)).code == "lost"
    assert all(line.sensor == LEFT for line in wire.take(Sample, 5))
    bench.do("mend", sensor="right")
    assert wire.next(lambda m: isinstance(m, Fault)).code == "back"
    wire.next(lambda m: isinstance(m, Sample) and m.sensor == RIGHT)


@needs_posix("a pty that comes back by its name")
def test_a_pulled_board_hangs_up_and_comes_back_on_the_same_port(bench):
    port = bench.ports["two"]
    with serial.Serial(port, timeout=5) as opened:
        bench.do("unplug", board="two")
        with pytest.raises(termios.error, match="Input/output error"):
            opened.reset_input_buffer()
    assert not Path(port).exists()
    bench.do("plug", board="two")
    assert bench.ports["two"] == port
    with Wire(port) as wire:
        wire.ask(Hello, 1, 1)


def test_a_reset_board_starts_anew_and_keeps_its_port(bench):
    with Wire(bench.ports["two"]) as wire:
        wire.ask(Hello, 1, 1)
        bench.do("reset", board="two")
        assert wire.next(lambda m: isinstance(m, Board) and m.request == 0).uid == bench.boards["two"]["uid"]


def test_a_board_can_be_reset_before_it_has_begun(bench):
    waiting = [
        bench.begin("reset", board="two"),
        *(bench.begin("reset", board="two", after_s=0) for _ in range(3)),
    ]
    assert all(bench.answer(number)["do"] == "reset" for number in waiting)
    with Wire(bench.ports["two"]) as wire:
        wire.ask(Hello, 1, 1)


@needs_posix("a pty: nothing is installed over the network")
def test_a_board_can_be_installed_on_and_configured(scenario, tmp_path, monkeypatch):
    """As a real one: Ctrl-C ends the program and leaves MicroPython's prompt, Ctrl-D starts it again."""
    monkeypatch.setenv("HOME", str(tmp_path))
    with VirtualBench(scenario) as bench:
        port = bench.ports["two"]
        done = install(port, str, str, {"name": "tail"}, sources=True)
        assert not done.copied
        assert configure(port, {"lines_hz": 25}).values["name"] == "tail"
        with Wire(port) as wire:
            (about,) = (answer for answer in wire.ask(Hello, 1, 1) if isinstance(answer, About))
            assert about.name == "tail"
        bench.do("reset", board="two")
        with Wire(port) as wire:
            wire.ask(Hello, 1, 1)
    assert not list(tmp_path.iterdir())  # MicroPython keeps no history of what was typed


def test_at_speed_0_boards_run_free_and_side_by_side(scenario, tmp_path):
    free = tmp_path / "free.toml"
    free.write_text(SCENARIO.replace("speed = 10", "speed = 0"))
    with VirtualBench(free) as bench, Wire(bench.ports["one"]) as first, Wire(bench.ports["two"]) as second:
        bench.do("wait", for_s=2)
        for wire in (first, second):
            wire.ask(Hello, 1, 1)
            wire.ask(Start)
        assert first.take(Sample, 20)
        assert second.take(Sample, 20)


def test_on_cpython_behind_a_tcp_port(scenario):
    with VirtualBench(scenario, "--tcp") as bench:
        assert bench.ports["one"].startswith("socket://127.0.0.1:")
        with Wire(bench.ports["one"]) as wire:
            wire.ask(Hello, 1, 1)
            wire.ask(Start)
            settled_s = bench.do("place", sensor="right", face="-z")["settled_s"]
            assert fresh_g(bench, wire, RIGHT, settled_s)[2] == pytest.approx(-1.0, abs=0.01)
        with Wire(bench.ports["one"]) as wire:
            wire.ask(Hello, 1, 1)
            wire.port.write(b"\x03")  # there is no prompt that it could leave
            wire.next(lambda m: isinstance(m, Board) and m.request == 0)
            wire.ask(Hello, 1, 1)


def command(scenario, *options, **keys):
    return subprocess.Popen(
        [sys.executable, "-m", "hingeline", "virtual", str(scenario), *options],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **keys,
    )  # fmt: skip


def test_a_script_on_standard_input_is_done_in_order_and_ends_the_bench(scenario):
    script = [{"do": "place", "sensor": "all", "face": "+x"}, {"do": "wait", "for_s": 3}, {"do": "truth"}]
    process = command(scenario)
    out, err = process.communicate("\n".join(map(json.dumps, script)), timeout=30)
    events = [json.loads(line) for line in out.splitlines()]
    assert process.returncode == 0, err
    assert [event["event"] for event in events[-4:]] == ["ready", "settled", "settled", "settled"]
    assert {event["schema_version"] for event in events} == {1}
    assert [event["began_s"] for event in events[-2:]] == [events[-3]["settled_s"], events[-2]["settled_s"]]
    assert not Path(events[0]["port"]).parent.exists()


def children(process):
    listing = subprocess.run(
        ["ps", "-o", "pid=", "--ppid", str(process.pid)], capture_output=True, text=True, check=False
    )
    return [int(pid) for pid in listing.stdout.split()]


@needs_posix("signals that a program heeds")
@pytest.mark.parametrize("how", ["SIGINT", "SIGTERM", "SIGHUP", "SIGKILL"])
def test_no_board_outlives_the_bench(scenario, how, tmp_path):
    process = command(scenario, "--stay", env={**os.environ, "TMPDIR": str(tmp_path)})
    while json.loads(process.stdout.readline())["event"] != "ready":
        pass
    boards = children(process)
    assert len(boards) == 2
    process.send_signal(getattr(signal, how))
    try:
        process.communicate(timeout=20)
    finally:
        process.kill()  # else it stays for good where it does not heed
    assert process.returncode == (-signal.SIGKILL if how == "SIGKILL" else 130)
    assert any(tmp_path.glob("hingeline-*")) == (how == "SIGKILL")
    for pid in boards:
        while os.path.exists(f"/proc/{pid}"):  # for good: the test's time limit ends it
            time.sleep(0.01)


def test_a_scenario_to_mend_is_told_with_its_exit_status(tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_text(SCENARIO.replace('"lis3dh"', '"lis4dh"'))
    process = command(path)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 2
    assert out == ""
    assert 'wrong.toml:16: boards[1].sensors[2].chip: found "lis4dh"' in err
