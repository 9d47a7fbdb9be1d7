"""Ctrl-C: what it leaves is told, and nothing is called kept where nothing is recorded."""

import signal

import pytest
from tests.posix import needs_posix

KEPT = "hingeline: Interrupted. What was recorded so far is kept; `hingeline` alone names the next step."


@needs_posix("signals that a program heeds")
@pytest.mark.parametrize("how", ["SIGINT", "SIGTERM", "SIGHUP"])
@pytest.mark.parametrize(
    ("name", "begun", "told"), [("watch", "Ctrl-C stops", "Interrupted."), ("wiggle", "Recording in", KEPT)]
)
def test_an_interrupted_command_says_what_is_kept(person, name, begun, told, how):
    with person.start(name) as command:
        for line in command.stderr:
            if begun in line:
                command.send_signal(getattr(signal, how))
                break
        rest = command.stderr.read()
        assert command.wait(timeout=30) == 130
    assert rest.splitlines()[-1] == told
