"""From board to verdict through the commands, real firmware on a virtual bench whose truths are known."""

import json
import subprocess
import sys

import pytest
from tests.host.person import Person, session_of
from tests.posix import needs_posix

from hingeline.demo.job import SCENARIO
from hingeline.storage.records import read
from hingeline_virtual.client import VirtualBench


def test_boards_names_what_answers(person):
    outcome = person.run("boards", "--json")
    (board,) = outcome.data["boards"]
    assert outcome.status == 0
    assert (board["board"], board["name"], board["watchdog"]) == ("pico", "bench", "off")
    assert [(one["chip"], one["address"], one["state"]) for one in board["sensors"]] == [
        ("mpu6050", 0x68, "ok"),
        ("mpu6050", 0x69, "ok"),
    ]
    assert all(one["calibrated"] for one in board["sensors"])


def test_neutral_tells_the_mismatch_and_its_cure(person, sheet):
    person.tape("flap")
    outcome = person.run("neutral", sheet, "flap", "--json")
    (judgement,) = outcome.data["judgements"]
    low, high = judgement["measured"]["interval_95_deg"]
    assert outcome.status == 6
    assert low - 0.1 < -1.8 < high + 0.1  # the scenario's truth
    assert "2 half turns" in judgement["advice"]
    person.bench.do("adjust", surface="flap right", neutral_by_deg=-1.8)
    outcome = person.run("neutral", sheet, "flap")
    assert outcome.status == 0
    assert "MATCHED" in outcome.stdout


def test_throws_beside_the_sheet(person, sheet):
    person.tape("flap")
    outcome = person.run("throws", sheet, "flap", "--json", asked=person.throws("flap"))
    readings = outcome.data["surfaces"]["flap"]
    truths = {"up": (5.9, 4.2), "down": (-26.4, -22.9)}  # of the scenario
    words = {"up": ("LESS", "MORE"), "down": ("LESS", "MORE")}
    assert outcome.status == 6
    assert [reading["command"] for reading in readings] == ["up", "down", "neutral"]
    assert readings[-1]["inside"]
    for reading in readings[:-1]:
        for judgement, truth, word in zip(
            reading["judgements"][:2], truths[reading["command"]], words[reading["command"]], strict=True
        ):
            deviation = judgement["measured"]["standard_uncertainty_deg"]
            assert judgement["measured"]["deg"] == pytest.approx(truth, abs=4 * deviation)
            assert deviation < 0.1
            assert judgement["verdict"] == word
        # left throws further, up and down: it is the right one that adds
        assert reading["judgements"][2]["verdict"] == "MORE"


def test_throws_within_the_tolerance_exit_0(person, sheet):
    for side in ("left", "right"):
        person.bench.do("adjust", surface=f"flap {side}", positions={"flap up": 5.0, "flap down": -24.5})
    person.tape("flap")
    outcome = person.run("throws", sheet, "flap", asked=person.throws("flap"))
    assert outcome.status == 0
    assert outcome.stdout.count("WITHIN") + outcome.stdout.count("MATCHED") == 8
    assert "(ruler)" in outcome.stdout


def test_a_board_pulled_in_mid_measurement(person, sheet):
    person.tape("flap")
    said = ""
    with person.start("throws", sheet, "flap") as command:
        for line in command.stderr:
            said += line
            if "Neutral taken" in line:
                break
        person.bench.do("unplug", board="bench")
        told = command.stderr.read()
        assert command.wait() == 3
    assert "hingeline:" in told
    records = list(read(session_of(said)))
    assert len(records) > 30
    assert records[0].kind == "run"


@needs_posix("a lock on a port: a virtual board over TCP lets a second computer wait")
def test_a_port_that_another_command_holds_names_it(person):
    with person.start("watch") as holder:
        try:
            assert holder.stdout.readline()
            outcome = person.run("boards", "--json")
        finally:
            holder.kill()
    assert outcome.status == outcome.data["exit_status"] == 4
    assert f"(process {holder.pid})" in outcome.data["error"]
    assert "hingeline watch" in outcome.data["error"]


def test_json_errors_carry_cure_and_status(tmp_path):
    port = str(tmp_path / "nothing")
    outcome = subprocess.run(
        [sys.executable, "-m", "hingeline", "boards", "--json", "--port", port],
        capture_output=True,
        text=True,
        check=False,
    )
    told = json.loads(outcome.stdout)
    assert outcome.returncode == told["exit_status"] == 3
    assert told["error"]
    assert told["cure"]


def test_uncalibrated_sensors_are_named(tmp_path, sheet):
    with VirtualBench(SCENARIO) as bench:
        person = Person(bench, tmp_path)
        person.tape("flap")
        outcome = person.run("throws", sheet, "flap")
    assert outcome.status == 2
    assert "hingeline calibrate" in outcome.stderr


def test_the_demonstration_agrees_with_its_truths():
    outcome = subprocess.run(
        [sys.executable, "-m", "hingeline", "demo", "--json"], capture_output=True, text=True, check=False
    )
    told = json.loads(outcome.stdout)
    assert outcome.returncode == 0, outcome.stderr
    assert len(told["rows"]) >= 30
    assert told["agrees"]
