"""`hingeline doctor` on real firmware before a virtual bench: well, and with each thing that can be wrong."""

import json
import math
import os
import re
import subprocess
import sys

import pytest
import serial
from serial.tools.list_ports_common import ListPortInfo
from tests import boards
from tests.faults.cable import Cable
from tests.posix import pty

from hingeline.device.doctor.examination import examine
from hingeline.device.doctor.listening import LISTEN_S, _timing
from hingeline.device.install.payload import firmware_version
from hingeline.device.link import ports
from hingeline_calibration.noise import WHITE_S
from hingeline_protocol.line import unseal
from hingeline_protocol.messages import State, pack, parse

pytestmark = pytest.mark.long

LEFT, RIGHT = boards.ALPHA


def bench_of(folder, sensors=boards.PAIR, **keys):
    """A bench of one board, with more keys."""
    return boards.bench(folder, "seed = 4\nspeed = 5\n" + boards.board("alpha", sensors, uid="a1", **keys))


@pytest.fixture(scope="module")
def any_bench(tmp_path_factory):
    """A bench that tests leave in any state."""
    with bench_of(tmp_path_factory.mktemp("bench")) as bench:
        yield bench


@pytest.fixture
def bench(any_bench):
    """A bench on which nothing is wrong."""
    any_bench.do("mend", sensor="all")
    any_bench.do("place", sensor="all", face="+z")
    return any_bench


@pytest.fixture
def silent_port():
    """A port where nothing answers."""
    near, far = pty.openpty()
    yield os.ttyname(far)
    os.close(near)
    os.close(far)


def doctor(*ports):
    """Return the exit status, and what is found with its trouble or without, by what it is about."""
    command = [sys.executable, "-m", "hingeline", "doctor", "--json"]
    command += [word for port in ports for word in ("--port", port)]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    told = json.loads(done.stdout)
    assert told["troubles"] == sum(one["exit_status"] > 0 for one in told["findings"])
    return done.returncode, told["findings"]


NOISE_SHARE = 3 / math.sqrt(2 * LISTEN_S / WHITE_S)
"""Three deviations of a density that is told by so many independent means."""


def troubles(findings):
    return [(one["about"], one["text"]) for one in findings if one["exit_status"]]


def figure(findings, about, name):
    (value,) = [one["figures"][name] for one in findings if one["about"] == about and name in one["figures"]]
    return value


def test_nothing_is_wrong(bench):
    status, found = doctor(bench.ports["alpha"])
    assert (status, troubles(found)) == (0, [])
    assert figure(found, "a1", "lost") == figure(found, "a1", "bad") == 0
    assert figure(found, "a1", "left_out_collecting") >= 0
    assert 0 <= figure(found, "a1", "jitter_us") <= figure(found, "a1", "jitter_worst_us") < 5000, "a period"
    for sensor, density_ug in ((LEFT, 400), (RIGHT, 220)):  # datasheets: see calibration/chips.py
        assert figure(found, sensor, "rate_hz") == pytest.approx(50, rel=0.03)
        assert figure(found, sensor, "noise_ug_per_rthz") == pytest.approx([density_ug] * 3, rel=NOISE_SHARE)
    assert figure(found, LEFT, "temperature_c") == pytest.approx(22.0, abs=0.2)
    # The bench's LIS3DH answers its self-test with 0.4 g.
    assert figure(found, RIGHT, "self_test_mg") == pytest.approx([400] * 3, abs=5)
    assert f"with firmware {firmware_version()}" in found[0]["text"]
    assert any(one["text"].startswith('pico "alpha" at ') for one in found)
    assert not any("watchdog" in one["text"] for one in found)


def test_what_it_finds_is_kept_in_a_dated_file_on_request(bench, tmp_path):
    command = [sys.executable, "-m", "hingeline", "doctor", "--record", "--json", "--port", bench.ports["alpha"]]
    done = subprocess.run(command, check=False, capture_output=True, text=True, cwd=tmp_path)
    (path,) = tmp_path.iterdir()
    assert re.fullmatch(r"hingeline-doctor-\d{4}-\d\d-\d\d_\d\d-\d\d-\d\d\.json", path.name)
    assert f"Recorded in {path.name}" in done.stderr
    kept = json.loads(path.read_text(encoding="utf-8"))
    assert kept["findings"] == json.loads(done.stdout)["findings"]
    assert kept["date"].startswith(path.name.removeprefix("hingeline-doctor-")[:10])
    figures = {name for finding in kept["findings"] for name in finding["figures"]}
    assert {"jitter_us", "jitter_worst_us", "heap_bytes", "rate_hz", "noise_ug_per_rthz"} <= figures


def test_a_watchdog_and_what_it_did_are_told(tmp_path):
    with bench_of(tmp_path, watchdog=True) as bench:
        assert doctor(bench.ports["alpha"])[0] == 0  # its stream arms it
        bench.do("fault", sensor="left", kind="block")
        bench.do("wait", for_s=20)
        status, found = doctor(bench.ports["alpha"])
    assert status == 0
    (does, did) = [one for one in found if "watchdog" in one["text"]]
    assert does["text"].startswith("its watchdog restarts it when it hangs")
    assert "--no-watchdog" in does["cure"]
    assert did["text"] == "its last reset was by its watchdog"


@pytest.mark.parametrize(
    ("kinds", "told"),
    [
        (["identity"], "answers as a chip that is not known"),
        (["deaf", "reset"], "does not keep what is written to it"),
    ],
)
def test_for_a_reader_things_have_headings_and_troubles_a_mark(bench, kinds, told):
    for kind in kinds:
        bench.do("fault", sensor="left", kind=kind)
    command = [sys.executable, "-m", "hingeline", "doctor", "--port", bench.ports["alpha"]]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    lines = done.stdout.splitlines()
    at = lines.index(LEFT)
    assert lines[at + 1].startswith(f"! mpu6050 on bus 0 at 0x68 {told} (bus 0 address 0x68: register 0x")
    assert "another module" in lines[at + 2]
    assert lines[-1] == "1 trouble, marked !"
    assert done.returncode == 7


def test_no_sensor_at_all(bench):
    bench.do("fault", sensor="all", kind="absent")
    status, found = doctor(bench.ports["alpha"])
    assert (status, troubles(found)) == (7, [("a1", "no sensor answers on any bus")])
    told = subprocess.run(
        [sys.executable, "-m", "hingeline", "boards", "--port", bench.ports["alpha"]],
        check=True,
        capture_output=True,
        text=True,
    )
    assert told.stdout.splitlines()[1:] == ["  no sensor answers as it should: `hingeline doctor`"]


def test_a_sensor_that_moves_and_a_noisy_one(tmp_path):
    with bench_of(tmp_path, boards.pair(noise_ug=[400, 400, 2000])) as bench:
        bench.do("hold", sensor="right")
        status, found = doctor(bench.ports["alpha"])
    assert status == 7
    assert [about for about, _ in troubles(found)] == [LEFT, RIGHT]
    assert figure(found, LEFT, "noise_ug_per_rthz") == pytest.approx([400, 400, 2000], rel=NOISE_SHARE)


def test_lines_lost_and_damaged_on_the_cable_are_counted(bench):
    numbers = iter(range(10**6))

    def spoil(line):
        if not line.startswith(b"s "):
            return line
        return {0: b"", 7: line.replace(b" ", b"_", 1)}.get(next(numbers) % 15, line)

    with Cable(bench.ports["alpha"], spoil) as cable:
        status, found = doctor(cable.name)
    assert status == 7
    assert [about for about, _ in troubles(found)] == ["a1"]
    assert figure(found, "a1", "bad") > 3
    assert figure(found, "a1", "lost") > figure(found, "a1", "bad")


def test_an_older_firmware_is_told_with_how_to_update_it(bench):
    def older(line):
        return pack(parse(unseal(line))._replace(firmware="0.0.9")) if line.startswith(b"board ") else line

    with Cable(bench.ports["alpha"], older) as cable:
        status, found = doctor(cable.name)
    assert status == 0
    (told,) = [one for one in found if "0.0.9, this computer has" in one["text"]]
    assert told["cure"].startswith(f"Run `hingeline install --port {cable.name}`")


def test_a_busy_port_and_none(bench):
    port = bench.ports["alpha"]
    with serial.Serial(port, exclusive=True):
        status, found = doctor(port)
    assert status == 4
    assert f"{port} is held by" in found[-1]["text"]
    assert doctor("/dev/none")[0] == 3


def test_of_the_ports_found_one_without_a_board_is_no_trouble_beside_one_with(bench, silent_port, monkeypatch):
    board, stranger = ListPortInfo(bench.ports["alpha"]), ListPortInfo(silent_port)
    board.vid, board.pid, stranger.vid = 0x2E8A, 0x0005, 0x1234
    monkeypatch.setattr(ports.list_ports, "comports", lambda: [board, stranger])
    monkeypatch.setattr("hingeline.device.link.conversation.START_S", 0.5)
    said = []
    found = examine((), said.append)
    assert said == [f"Listening at {board.device} for a few seconds: leave the sensors still."]
    assert not any(one.exit_status for one in found)
    assert (board.device, "Raspberry Pi Pico with MicroPython") in [(one.about, one.text) for one in found]
    assert any("nothing answers there" in one.text for one in found)
    monkeypatch.setattr(ports.list_ports, "comports", lambda: [stranger])
    assert [one.exit_status for one in examine((), said.append) if one.exit_status] == [3]
    monkeypatch.setattr(ports.list_ports, "comports", list)
    assert [one.exit_status for one in examine((), said.append) if one.exit_status] == [3]
    assert len(said) == 1, "where nothing is listened to, nobody has to wait"


@pytest.mark.parametrize(("late", "collecting", "cured"), [(0, 40, False), (3, 40, True), (3, 0, True), (0, 0, False)])
def test_readings_left_out_while_a_board_tidies_its_memory_are_no_trouble(late, collecting, cured):
    """A single healthy sensor without leads was told to shorten its leads."""
    finding = _timing("a1", State(1, 1, 50, 4, 9, 9, late + collecting, 90, 4000, 0, 0), late, collecting)
    assert (f"{late} readings left out because it was busy", f"{collecting} while it tidied") == tuple(
        part.strip() for part in finding.text.partition("; ")[2].removesuffix(" its memory, which is usual").split(",")
    )
    assert bool(finding.cure) is cured
    assert finding.exit_status == 0
