"""A key is waited for, and Ctrl-C is heard meanwhile."""

import _thread
import threading

import pytest

from hingeline.procedures.keys import Keys


def test_the_next_key_is_waited_for():
    keys = Keys()
    threading.Timer(0.3, keys.pressed.put, ["next"]).start()
    assert keys.wait() == "next"


def test_ctrl_c_is_heard_though_it_ends_no_wait():
    """`interrupt_main` marks that a signal came and wakes nobody, as Ctrl-C does on Windows (docs of `_thread`)."""
    threading.Timer(0.3, _thread.interrupt_main).start()
    with pytest.raises(KeyboardInterrupt):
        Keys().wait()
