"""What is read of a keyboard, and which keys that is."""

import os
import sys
import time

import pytest
from tests.posix import pty

from hingeline.live.keys import hear_keys


@pytest.mark.parametrize(
    ("sent", "keys"),
    [
        (b"b", ["back"]),
        (b"bb", ["back", "back"]),
        (b"nb ", ["next", "back", "take"]),
        (b"\r", ["take"]),
        (b"\x1b[6~", ["take"]),  # Page Down, as xterm sends it: what a clicker's key is
        (b"\x1b[A", []),
        (b"xz%", []),
    ],
)
def test_keys_that_arrive_at_once_are_each_heeded(monkeypatch, sent, keys):
    near, far = pty.openpty()
    pressed = []
    with os.fdopen(far) as terminal:
        monkeypatch.setattr(sys, "stdin", terminal)
        with hear_keys(pressed.append):
            os.write(near, sent)
            time.sleep(0.5)
    os.close(near)
    assert pressed == keys
