"""The terminal comes back as it was: signals at any moment, Ctrl-Z, a window that is closed."""

import os
import re
import signal
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest
from tests.host.cli.terminal import Terminal
from tests.posix import pty, termios

ALTERNATE, BACK, HIDDEN, VISIBLE = "\x1b[?1049h", "\x1b[?1049l", "\x1b[?25l", "\x1b[?25h"
"""xterm's control sequences, invisible-island.net/xterm/ctlseqs: DECSET and DECRST 1049 and 25."""


@contextmanager
def measuring(person, sheet):
    """A command whose screen stands on a terminal."""
    command = Terminal(person, "throws", sheet, "flap")
    try:
        command.until(re.escape(ALTERNATE))
        command.until("Q stop")
        yield command
    finally:
        command._command.kill()
        command._command.stdout.close()
        command._command.wait()


@pytest.mark.parametrize("how", ["SIGTERM", "SIGHUP", "SIGINT"])
@pytest.mark.parametrize("times", [1, 40])
def test_who_ends_a_command_gets_the_terminal_as_it_was(person, sheet, how, times):
    """However often it is told to end while it closes what it opened."""
    with measuring(person, sheet) as command:
        for _ in range(times):
            command._command.send_signal(getattr(signal, how))
            time.sleep(0.002)
        outcome = command.end()
    assert outcome.status == 130
    assert outcome.stderr.rfind(BACK) > outcome.stderr.rfind(ALTERNATE)
    assert outcome.stderr.rfind(VISIBLE) > outcome.stderr.rfind(HIDDEN)
    assert "Traceback" not in outcome.stderr


def test_ctrl_z_gives_the_terminal_back_and_takes_it_again(person, sheet):
    with measuring(person, sheet) as command:
        near, process = command._near, command._command
        as_measuring = termios.tcgetattr(near)
        assert not as_measuring[3] & termios.ECHO
        process.send_signal(signal.SIGTSTP)
        command.until(re.escape(BACK))
        _, status = os.waitpid(process.pid, os.WUNTRACED)
        assert os.WIFSTOPPED(status)
        assert termios.tcgetattr(near)[3] & termios.ECHO
        assert termios.tcgetattr(near)[3] & termios.ICANON
        process.send_signal(signal.SIGCONT)
        command.until(re.escape(ALTERNATE))
        command.until("Q stop")
        assert termios.tcgetattr(near) == as_measuring
        command.press("q")
        outcome = command.end()
    assert "Traceback" not in outcome.stderr


def test_a_terminal_that_goes_away_ends_the_command_quietly(person, sheet):
    """The window is closed: its descriptors give errors from then on, and the shell sends SIGHUP."""
    near, far = pty.openpty()
    command = subprocess.Popen(
        [sys.executable, "-m", "hingeline", "throws", sheet, "flap", "--port", *person.bench.ports.values()],
        stdin=far,
        stdout=far,
        stderr=far,
        start_new_session=True,
        env={**os.environ, "HINGELINE_HOME": str(person.home), "TERM": "xterm-256color"},
    )
    os.close(far)
    output = b""
    while b"Q stop" not in output:
        output += os.read(near, 65536)
    os.close(near)
    command.send_signal(signal.SIGHUP)
    assert command.wait(timeout=20) == 130
    assert not list(person.home.glob("hingeline-fault-*"))
