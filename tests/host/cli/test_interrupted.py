"""Ctrl-C: what it leaves is told, and nothing is called kept where nothing is recorded."""

import signal

import pytest

KEPT = "hingeline: Interrupted. What was recorded so far is kept; `hingeline` alone names the next step."


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
@pytest.mark.parametrize(
    ("name", "begun", "told"), [("watch", "Ctrl-C stops", "Interrupted."), ("wiggle", "Recording in", KEPT)]
)
def test_an_interrupted_command_says_what_is_kept(person, name, begun, told, how):
    with person.start(name) as command:
        for line in command.stderr:
            if begun in line:
                command.send_signal(how)
                break
        rest = command.stderr.read()
        assert command.wait(timeout=30) == 130
    assert rest.splitlines()[-1] == told
