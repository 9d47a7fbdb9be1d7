"""A recorded session plays again as the same command with the same result, bit for bit, before an empty store."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from tests.host.person import Outcome, Person, at_the_desk, session_of
from tests.posix import needs_posix, pty

from hingeline.device.link.decoder import Line
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import read


def replay(tmp_path: Path, folder: Path, *arguments: str) -> Outcome:
    return at_the_desk(tmp_path / "empty", *arguments, "--replay", str(folder))


def at_a_terminal(person: Person, *arguments: str, asked: tuple) -> Outcome:
    """Run a command whose standard input is a terminal: an empty pattern's deed ends with the Enter key."""
    near, far = pty.openpty()
    command = subprocess.Popen(
        [sys.executable, "-m", "hingeline", *arguments, "--port", *person.bench.ports.values()],
        stdin=far,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "HINGELINE_HOME": str(person.home)},
    )
    told, done, waiting = "", 0, list(asked)
    with command:
        while some := os.read(command.stderr.fileno(), 4096):
            told += some.decode()
            while waiting and (found := re.search(waiting[0][0], told[done:])):
                done += found.end()
                waiting.pop(0)[1]()
                if found[0].endswith("[Enter] "):
                    os.write(near, b"\n")
        stdout = command.stdout.read().decode()
    os.close(near)
    os.close(far)
    assert not waiting, told
    return Outcome(command.returncode, stdout, told)


def test_neutral_plays_again(person, sheet, tmp_path):
    person.tape("flap")
    for options in (("--json",), ()):
        arguments = ("neutral", sheet, "flap", *options)
        outcome = person.run(*arguments)
        again = Person(person.bench, tmp_path / "empty").run(*arguments, "--replay", str(outcome.session))
        assert outcome.status == 6
        assert (again.status, again.stdout) == (outcome.status, outcome.stdout)


@pytest.mark.long
def test_throws_of_several_surfaces_play_again_with_their_pauses(person, sheet, tmp_path):
    """While the sensors change place they lie still too: none of those rests may be taken for a neutral."""
    asked = [
        step
        for surface in ("flap", "elevator")
        for step in (
            (
                rf"Tape the sensors on the {surface}, then press \[Enter\] ",
                lambda on=surface: person.tape(on),
            ),
            *person.throws(surface),
        )
    ]
    arguments = ("throws", sheet, "--json")
    outcome = at_a_terminal(person, *arguments, asked=tuple(asked))
    assert outcome.status == 6, outcome.stderr
    elevator = outcome.data["surfaces"]["elevator"][0]["judgements"][0]["measured"]
    assert elevator["deg"] == pytest.approx(13.5, abs=4 * elevator["standard_uncertainty_deg"])  # the scenario's
    folder = outcome.session
    assert [record.kind for record in read(folder) if not isinstance(record, Line)].count("resumed") == 2
    again = replay(tmp_path, folder, *arguments)
    assert (again.status, again.stdout) == (outcome.status, outcome.stdout)


@needs_posix("signals that a program heeds")
@pytest.mark.parametrize(("blow", "status"), [("SIGKILL", -9), ("SIGINT", 130)])
def test_a_command_cut_short_leaves_a_run_that_plays_as_far_as_it_went(person, sheet, tmp_path, blow, status):
    person.tape("flap")
    with person.start("throws", sheet, "flap", "--json") as command:
        told = ""
        for line in command.stderr:
            told += line
            if "up (normal), all the way" in line:
                person.bench.do("stick", position="flap up")
            if "down (normal), all the way" in line:
                command.send_signal(getattr(signal, blow))
                break
        assert command.wait() == status
    folder = session_of(told)
    records = list(read(folder))
    kinds = [record.kind for record in records if not isinstance(record, Line)]
    assert kinds[0] == "run"
    assert kinds[-1] == "throw"
    again = replay(tmp_path, folder, "throws", sheet, "flap")
    assert again.status == 7
    assert "The samples ended" in again.stderr
    assert "flap, up (normal)" in again.stderr, "what was measured until then"
    with Recorder(folder) as recorder:
        recorder.event("later")
    assert len(list(read(folder))) == len(records) + 2, "it can be gone on with"


def test_a_session_of_something_else_is_refused(person, sheet, tmp_path):
    person.tape("flap")
    folder = person.run("neutral", sheet, "flap").session
    other = tmp_path / "other.rig.toml"
    other.write_text(re.sub(r'aircraft = ".*"', 'aircraft = "Tin Plover"', Path(sheet).read_text()))
    for arguments, word in (
        (("throws", sheet, "flap"), "command"),
        (("neutral", sheet, "elevator"), "surface"),
        (("neutral", str(other), "flap"), "aircraft"),
    ):
        outcome = replay(tmp_path, folder, *arguments)
        assert outcome.status == 2
        assert f"is of the {word}" in outcome.stderr
    bare = tmp_path / "bare"
    bare.mkdir()
    assert "There is no run" in replay(tmp_path, bare, "neutral", sheet, "flap").stderr
    bare = bare / "1-neutral.log"
    bare.write_bytes(b"")
    outcome = replay(tmp_path, bare, "neutral", sheet, "flap")
    assert (outcome.status, "holds no run" in outcome.stderr) == (2, True)
    whole = folder.read_bytes()
    for spoilt, told in (
        (whole.replace(b'"choices": {', b'"choices": 5, "other": {'), "holds no run"),
        (whole + b'E 1 {"kind": "loaded", "name": 5}\n', "what was loaded in another form"),
        (whole + b'E 1 {"kind": "key", "key": "back"}\n', "records a key in another form"),
        (
            whole.replace(b'"hold_s": null', b'"hold_s": [1]'),
            "has hold_s = '[1]', which this command can't use",
        ),
        (whole.replace(b'"hold_s": null', b'"hold_s": 1e400'), "has hold_s = 'inf', which"),
        (whole.replace(b'"hold_s": null', b'"hold_s": NaN'), "line 1 is no record"),
    ):
        bare.write_bytes(spoilt)
        outcome = replay(tmp_path, bare, "neutral", sheet, "flap")
        assert (outcome.status, told in outcome.stderr) == (2, True), outcome.stderr
