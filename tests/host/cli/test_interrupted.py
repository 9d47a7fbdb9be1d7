"""Ctrl-C: what it leaves is told, and nothing is called kept where nothing is recorded."""

import signal

import pytest

KEPT = "hingeline: Interrupted. What was recorded so far is kept; `hingeline` alone names the next step."


@pytest.mark.parametrize(
    ("name", "begun", "told"), [("watch", "ends it", "Interrupted."), ("wiggle", "Recording in", KEPT)]
)
def test_an_interrupted_command_says_what_is_kept(person, name, begun, told):
    with person.start(name) as command:
        for line in command.stderr:
            if begun in line:
                command.send_signal(signal.SIGINT)
                break
        rest = command.stderr.read()
        assert command.wait() == 130
    assert rest.splitlines()[-1] == told
