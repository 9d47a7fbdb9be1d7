"""A disk that fills up in the middle of a command: what is measured is shown all the same, and the loss is told.

A limit on the size of files stands for the full disk: the same write fails, with EFBIG for ENOSPC.
"""

import json
import shutil
import subprocess
import threading
from dataclasses import dataclass

import pytest
from tests.boards import take
from tests.host.person import Person
from tests.posix import resource

from hingeline.cli.run import open_table
from hingeline.cli.screen import Screen
from hingeline.errors import StoreError
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import read
from hingeline.storage.sessions import all_runs
from hingeline.storage.store import Store


@dataclass(frozen=True)
class Cramped(Person):
    """Somebody whose disk takes no file of more than some bytes."""

    most_bytes: int = 0

    def start(self, *arguments: str) -> subprocess.Popen:
        """Start as everybody does, with the limit set for the command alone."""
        limits = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (self.most_bytes, limits[1]))
        try:
            return super().start(*arguments)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, limits)


def test_a_session_that_can_t_go_on_ends_no_measurement(person):
    before = len(Store(person.home).history("datum", "bench"))
    outcome = Cramped(person.bench, person.home, 20_000).take_datum()
    assert outcome.status == 2
    assert "Datum of 2 sensors kept" in outcome.stdout
    assert "Not recorded from here on: " in outcome.stderr
    assert outcome.stderr.rstrip().endswith("the disk is full. Free some space and do it again.")
    assert len(Store(person.home).history("datum", "bench")) == before + 1
    last = all_runs(person.home)[-1]
    assert len(list(read(last.path))) > 20


@pytest.mark.long
def test_a_datum_that_can_t_be_kept_is_told_and_the_former_one_holds(person):
    before = Store(person.home).load("datum", "bench")
    outcome = Cramped(person.bench, person.home, 1_000).take_datum("--json")
    assert outcome.status == 2
    assert "the disk is full" in outcome.stderr
    measured, problem = map(json.loads, outcome.stdout.splitlines())
    assert measured["datum"]["gravity"]
    assert (problem["exit_status"], "the disk is full" in problem["error"]) == (2, True)
    assert Store(person.home).load("datum", "bench") == before


@pytest.mark.long
def test_a_calibration_that_this_computer_can_t_keep_is_on_its_board(person):
    former = {name: Store(person.home).load("calibration", name) for name in Store(person.home).keys("calibration")}
    outcome = Cramped(person.bench, person.home, 5_000).calibrate()
    assert outcome.status == 2
    assert outcome.stdout.count("residual") == 2
    assert outcome.stderr.count("its board keeps it") >= 1
    for name, payload in former.items():
        assert Store(person.home).load("calibration", name) == payload
        assert person.run("calibration", "choose", name, "--from", "board").status == 0
        assert Store(person.home).load("calibration", name)["date"] > payload["date"]
    assert person.take_datum().status == 0


def test_a_terminal_that_is_stopped_holds_up_no_board(person, monkeypatch):
    """Ctrl-S lets a thread that writes wait for ever: none may write that reads a board, or holds all of them up."""
    monkeypatch.setenv("HINGELINE_HOME", str(person.home))
    said = []

    class Observed(Screen):
        def say(self, text):
            said.append((text, threading.current_thread(), bool(fleets) and fleets[0]._turn.locked()))

    def fail(recorder, records):
        raise StoreError("The disk is full", "Free some space")

    fleets = []
    screen = Observed(as_json=False, asks=False)
    with open_table(screen, list(person.bench.ports.values()), "noise") as runner:
        monkeypatch.setattr(Recorder, "_append", fail)
        fleets.append(runner.source)
        take(runner.source, 50)
    (told,) = [each for each in said if "Not recorded from here on: The disk is full" in each[0]]
    assert told[1:] == (threading.main_thread(), False)


@pytest.mark.parametrize(
    ("arguments", "told", "lost"),
    [
        (("throws", "flap", "--left", "nowhere"), "'nowhere' fits no sensor", ""),
        (("throws", "--right", "nowhere"), "'nowhere' fits no sensor", ""),
        (("neutral", "flap", "--fixed", "nowhere"), "'nowhere' fits no sensor", ""),
        (("play", "flap"), "calibration", "calibration"),
    ],
)
def test_what_the_sensors_forbid_is_told_before_the_caution_and_leaves_no_run(person, sheet, arguments, told, lost):
    """Who has named a sensor wrongly is told of that alone, and `sessions` lists no run for it."""
    command, *options = arguments
    before = all_runs(person.home)
    if lost:
        shutil.rmtree(person.home / lost)
    outcome = person.run(command, sheet, *options)
    assert (outcome.status, told in outcome.stderr) == (2, True), outcome.stderr
    assert "Propeller" not in outcome.stderr
    assert "Recording in" not in outcome.stderr
    assert all_runs(person.home) == before
