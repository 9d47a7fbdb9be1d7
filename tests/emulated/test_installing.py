"""`hingeline install`, `boards` and `doctor` on a Pico so slow that nothing answers when a usual board would."""

from __future__ import annotations

import json
import os
import random
import re
import signal
import subprocess
import sys
from binascii import crc32
from collections.abc import Iterator
from contextlib import closing
from typing import Any

import pytest
from tests.emulated.conftest import Start as Started
from tests.posix import pty

from hingeline.device.install.payload import payload
from hingeline.device.install.prompt import Remote, restart
from hingeline.device.install.survey import read_board
from hingeline.device.link.board import BoardLink
from hingeline.errors import NotMeasurable

pytestmark = pytest.mark.emulated

PATIENCE_S = 1800.0
NAME = "left wing"
MIDST = b"lib/hingeline_firmware/config.mpy"
"""An installation is cut short when this file's turn comes."""
CHANGED = "lib/hingeline_firmware/pins.mpy"
SENSOR = 0x68


def command(port: str, *words: str) -> list[str]:
    return [sys.executable, "-m", "hingeline", *words, "--port", port]


def run(port: str, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command(port, *words), check=False, capture_output=True, text=True, timeout=PATIENCE_S)


def told(port: str, *words: str) -> Any:
    """What a command tells as JSON."""
    done = run(port, *words, "--json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def cut_short(port: str) -> None:
    """Begin an installation, and kill it and its mpremote when half of it is done."""
    near, far = pty.openpty()
    installing = subprocess.Popen(command(port, "install"), stderr=far, start_new_session=True)
    os.close(far)
    heard = b""
    while MIDST not in heard:
        heard += os.read(near, 1000)
    os.killpg(installing.pid, signal.SIGKILL)
    assert installing.wait() == -signal.SIGKILL
    os.close(near)


def checksums(port: str) -> dict[str, int]:
    """The checksum of each file of hingeline as the board computes it, and let its program run again."""
    board = read_board(Remote(port))
    restart(port)
    return dict(board.checksums)


def wanted() -> dict[str, int]:
    return {path: crc32(content) for path, content in payload().items()}


@pytest.fixture(scope="module")
def port(started: Started) -> Iterator[str]:
    """A Pico with MicroPython on it and nothing else."""
    with started({}) as port:
        yield port


@pytest.fixture(scope="module")
def repeated(port: str) -> Any:
    """What an installation told that was cut short and repeated."""
    cut_short(port)
    return told(port, "install", "--name", NAME)


def test_an_interrupted_installation_is_repaired_by_a_repetition(port: str, repeated: Any) -> None:
    assert repeated["unchanged"] > 0, "of the first time"
    assert len(repeated["copied"]) + repeated["unchanged"] == len(payload())
    assert (repeated["board"], repeated["name"], repeated["uid"]) == ("pico", NAME, "ff" * 8)
    assert checksums(port) == wanted()


def test_boards_finds_it(port: str, repeated: Any) -> None:
    (board,) = told(port, "boards")["boards"]
    assert (board["board"], board["name"], board["uid"]) == ("pico", NAME, "ff" * 8)
    assert [(one["chip"], one["address"], one["state"]) for one in board["sensors"]] == [("mpu6050", SENSOR, "ok")]


def test_doctor_finds_nothing_wrong_but_lines_that_a_busy_emulator_lost(port: str, repeated: Any) -> None:
    done = run(port, "doctor")
    wrong = [line.strip() for line in done.stdout.splitlines() if line.strip().startswith("!")]
    assert done.returncode == (NotMeasurable.exit_status if wrong else 0), done.stdout
    assert all(re.fullmatch(r"! \d+ lines: [1-9]\d* lost, 0 damaged; none should be", line) for line in wrong), wrong
    assert "self-test moves" in done.stdout


def test_an_update_keeps_name_and_calibration(port: str, repeated: Any) -> None:
    calibration = random.Random(5).randbytes(1000)
    with closing(BoardLink(port, print)) as link:
        link.store_calibration(SENSOR, calibration)
    Remote(port).put({CHANGED: b"an earlier version\n"}, print)
    update = told(port, "install")
    assert (update["copied"], update["name"]) == ([CHANGED], NAME)
    with closing(BoardLink(port, print)) as link:
        assert link.fetch_calibration(SENSOR) == calibration
    assert checksums(port) == wanted()
