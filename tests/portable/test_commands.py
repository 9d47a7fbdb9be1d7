"""The first commands of README.md, in processes as poor as Windows: the results are those of every system."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from urllib.request import urlopen

import pytest
from tests.host.cli.test_setup import set_up, surface_deeds
from tests.host.conftest import calibrated_home  # noqa: F401
from tests.host.person import Person, kept_visits, session_of
from tests.portable import poor_environment

from hingeline.demo.job import SCENARIO, SHEET
from hingeline_virtual.client import VirtualBench

ENVIRONMENT = {**os.environ, **poor_environment()}
ORDINARY = {**os.environ, "HINGELINE_PORTABLE": ""}
"""The environment of this computer as it is."""
COMMAND = [sys.executable, "-m", "hingeline"]
VALUES = 38
"""Of the demonstration on every system: six biases and four leans of the flat; of each of two surfaces two neutrals,
and two rounds of throws of three positions on two sides."""


def hingeline(*arguments: str, env: dict[str, str] = ENVIRONMENT, **more) -> subprocess.CompletedProcess:
    """Run a command as poor as Windows."""
    return subprocess.run([*COMMAND, *arguments], env=env, capture_output=True, check=False, **more)


@pytest.mark.timeout(400)
def test_the_demonstration_agrees_with_the_truth():
    done = hingeline("demo", "--json", stdin=subprocess.DEVNULL)
    assert done.returncode == 0, done.stderr
    shown = json.loads(done.stdout.splitlines()[-1])
    assert shown["agrees"]
    assert [row["agrees"] for row in shown["rows"]] == [True] * VALUES


def test_a_bench_ends_with_its_input_without_a_word_and_leaves_no_folder(tmp_path):
    temporary = {"TMPDIR": str(tmp_path), "TEMP": str(tmp_path), "TMP": str(tmp_path)}
    done = hingeline("virtual", str(SCENARIO), env={**ENVIRONMENT, **temporary}, input=b"", timeout=60)
    events = [json.loads(line) for line in done.stdout.splitlines()]
    assert (done.returncode, done.stderr) == (0, b"")
    assert all(event["port"].startswith("socket://127.0.0.1:") for event in events if event["event"] == "board")
    assert not [path.name for path in tmp_path.iterdir() if path.is_dir()]


def test_a_bench_that_is_killed_takes_its_boards_with_it_without_a_traceback(tmp_path):
    command = [*COMMAND, "virtual", str(SCENARIO), "--stay"]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen(command, env={**ENVIRONMENT, "TMPDIR": str(tmp_path)}, **pipes) as bench:
        while json.loads(bench.stdout.readline())["event"] != "ready":
            pass
        bench.kill()
        errors = bench.stderr.read()  # ends when the last process that could write there has
    assert b"Traceback" not in errors, errors


def test_a_code_page_that_lacks_letters_ends_no_command(tmp_path):
    done = hingeline("rig", "new", str(tmp_path / "Čáp.rig.toml"))
    assert done.returncode == 0, done.stderr
    shown = hingeline("rig", "show", str(tmp_path / "Čáp.rig.toml"))
    assert shown.returncode == 0, shown.stderr
    assert b"C\xe1p" in shown.stdout  # in code page 1252; it has no letter with a caron


@pytest.fixture
def bench(monkeypatch):
    """The bench of the demonstration, on a computer as poor as Windows."""
    for name, value in poor_environment().items():
        monkeypatch.setenv(name, value)
    with VirtualBench(SCENARIO) as bench:
        yield bench


def written(home: Path, session: str, file: Path, env: dict[str, str]) -> bytes:
    """The page of a report."""
    done = hingeline("report", session, "-o", str(file), env={**env, "HINGELINE_HOME": str(home)})
    assert done.returncode == 0, done.stderr
    return file.read_bytes()


@pytest.mark.timeout(400)
def test_throws_page_and_report_are_those_of_every_system(calibrated_home, bench, tmp_path):  # noqa: F811
    """What was measured there, an ordinary computer replays to the letter, and makes the same report of."""
    person = Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))
    person.tape("flap")
    told, waiting, page = "", list(person.throws("flap")), b""
    ports = [word for port in bench.ports.values() for word in ("--port", port)]
    arguments = ("throws", str(SHEET), "flap", "--json")
    env = {**ENVIRONMENT, "HINGELINE_HOME": str(person.home)}
    pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen([*COMMAND, *arguments, "--page", *ports], env=env, **pipes) as command:
        for line in command.stderr:
            told += line.decode("cp1252")
            if offered := re.match(rb"Page: (\S+)", line):
                page = urlopen(offered[1].decode(), timeout=20).read()
            if waiting and re.search(waiting[0][0], line.decode("cp1252")):
                waiting.pop(0)[1]()
        measured = command.stdout.read()
    assert command.returncode == 6, told
    assert page.startswith(b"<!doctype html>")
    again = hingeline(*arguments, "--replay", str(session_of(told)), env=ORDINARY)
    assert json.loads(again.stdout) == json.loads(measured)
    poor, ordinary = (
        written(person.home, "Moss Lantern", tmp_path / "page.html", environment)
        for environment in (ENVIRONMENT, ORDINARY)
    )
    assert poor == ordinary


@pytest.mark.timeout(400)
def test_a_set_up_is_within_the_truth_and_its_report_that_of_every_system(calibrated_home, bench, tmp_path):  # noqa: F811
    """From datum to report in one command; the sheet's flap is set up already, 5° up and 20.4 mm, 24.54°, down."""
    person = Person(bench, shutil.copytree(calibrated_home, tmp_path / "home"))
    set_up(bench)
    shutil.rmtree(person.home / "datum")
    sheet = tmp_path / "flap.rig.toml"
    sheet.write_text(SHEET.read_text("utf-8").partition("[surface.elevator]")[0], "utf-8")
    lay = (r"Take every sensor off", lambda: bench.do("place", sensor="all", face="+z"))
    told, waiting = "", [*surface_deeds(person, "flap"), lay]
    ports = [word for port in bench.ports.values() for word in ("--port", port)]
    arguments = ("setup", str(sheet), "--json", "--no-input", *ports)
    env = {**ENVIRONMENT, "HINGELINE_HOME": str(person.home)}
    pipes = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE}
    with subprocess.Popen([*COMMAND, *arguments], cwd=tmp_path, env=env, **pipes) as command:
        for line in command.stderr:
            told += line.decode("cp1252")
            if waiting and re.search(waiting[0][0], line.decode("cp1252")):
                waiting.pop(0)[1]()
        measured = json.loads(command.stdout.read())
    assert (command.returncode, waiting) == (0, []), told
    for reading in measured["throws"]["flap"]:
        truth_deg = {"up": 5.0, "down": -24.54}.get(reading["command"], 0.0)
        for side in reading["judgements"][:2]:
            assert side["measured"]["deg"] == pytest.approx(truth_deg, abs=0.2), side["name"]
    assert measured["drift"]["holds"]
    poor, ordinary = (
        written(person.home, "Moss Lantern", tmp_path / "page.html", environment)
        for environment in (ENVIRONMENT, ORDINARY)
    )
    assert poor == ordinary


def test_the_report_of_a_kept_visit_is_that_of_every_system(tmp_path):
    poor, ordinary = (
        written(kept_visits(), "Moss Lantern", tmp_path / "page.html", environment)
        for environment in (ENVIRONMENT, ORDINARY)
    )
    assert poor == ordinary
