"""What is said on a terminal: no word is cut at its edge."""

import os
import subprocess
import sys

import click
import pytest
from tests.posix import pty

from hingeline.cli.command import Number
from hingeline.cli.screen import Screen, folded
from hingeline.demo.job import SHEET
from hingeline.units import counted

LONG = (
    "e66166d8e325-104: arrow up, turned 180°, 7 of 18; a 45° deflection would be known to ±0.40°; still wanted: "
    "arrow down ×2, lid up, lid down ×2, leaning ×6; most is won by: "
    "lean it, arrow down and lid up, 30 to 60° steep (±0.14°)"
)


@pytest.mark.parametrize("columns", [40, 80, 100])
def test_long_lines_break_between_words(columns, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(columns))
    master, slave = pty.openpty()
    with os.fdopen(master), os.fdopen(slave, "w") as terminal:
        text = folded(f"flap\n  {LONG}\n\nend", terminal)
    lines = text.split("\n")
    assert max(map(len, lines)) <= columns
    assert text.split() == f"flap {LONG} end".split()
    assert lines[1].startswith("  e66")
    assert all(line.startswith("    ") for line in lines[2:-2])
    assert lines[-2:] == ["", "end"]


def test_a_pipe_gets_lines_whole():
    with open(os.devnull, "w") as pipe:
        assert folded(LONG, pipe) == LONG


@pytest.mark.parametrize(("as_json", "on_stdout"), [(False, "a reading\n"), (True, "")])
def test_data_that_come_bit_by_bit_are_talk_too_where_they_go_elsewhere(as_json, on_stdout, capsys):
    screen = Screen(as_json, asks=False)
    screen.part("a reading")
    assert capsys.readouterr() == (on_stdout, "a reading\n")


def test_on_a_terminal_data_that_come_bit_by_bit_are_shown_once(monkeypatch):
    near, far = pty.openpty()
    with os.fdopen(far, "w") as terminal:
        monkeypatch.setattr(sys, "stdout", terminal)
        monkeypatch.setattr(sys, "stderr", terminal)
        screen = Screen(as_json=False, asks=False)
        screen.hold()
        screen.part("a reading")
        screen.release()
        screen.data("")
        terminal.flush()
        shown = os.read(near, 1024).decode()
    os.close(near)
    assert shown.count("a reading") == 1


@pytest.mark.parametrize("text", ["nan", "inf", "-inf"])
def test_what_is_not_finite_is_no_number(text):
    assert Number(0.3).convert("0.5", None, None) == 0.5
    with pytest.raises(click.BadParameter):
        Number(min=0).convert(text, None, None)


def test_one_and_many():
    assert [counted(count, "sensor") for count in (1, 2)] == ["1 sensor", "2 sensors"]


def test_a_reader_that_has_read_enough_ends_a_command_quietly():
    """As a shell tells of SIGPIPE: 128 + 13."""
    read_end, write_end = os.pipe()
    os.close(read_end)
    with os.fdopen(write_end, "w") as closed:
        done = subprocess.run(
            [sys.executable, "-m", "hingeline", "rig", "show", str(SHEET)],
            stdout=closed,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert (done.returncode, done.stderr) == (141, b"")


STEERING = "kind\x1b[2Jx\x1b]0;title\x07 \x9b31m\r\b\x7f\u202e \u200b"
"""Of ECMA-48: CSI and OSC in seven and eight bits, BEL; what turns the order of letters and what hides (Unicode Cf)."""


@pytest.mark.parametrize("way", ["say", "part", "data"])
def test_nothing_that_is_told_steers_the_terminal(way, capfd):
    getattr(Screen(as_json=False, asks=False), way)(f"{STEERING}\nend")
    for told in capfd.readouterr():
        assert told.replace("\n", "").isprintable()
        assert not told or ("kind" in told and "end" in told)


@pytest.mark.parametrize("words", [["rig", STEERING], ["rig", f"--{STEERING}"], ["rig", "show", STEERING]])
def test_nor_does_what_was_typed(words):
    command = [sys.executable, "-m", "hingeline", *words]
    told = subprocess.run(command, capture_output=True, encoding="utf-8", check=False)
    assert told.returncode == 2
    assert told.stderr.rstrip("\n").isprintable()
    assert "kind" in told.stderr
