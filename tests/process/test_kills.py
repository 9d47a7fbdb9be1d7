"""A save that is killed at any of its system calls leaves old or new, whole, and nothing in the way of the next."""

import sys

import pytest
from tests.process.run import broken_off, marked
from tests.process.saves import SAVES

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs Linux's ptrace, to stop at a system call")


@pytest.mark.parametrize("name", marked(SAVES, quick=("report",)))
def test_a_kill_at_every_system_call(name):
    found = broken_off("kills", name)
    assert found["wrong"] == []
    assert found["told"] == ["", "saved"]
    assert found["found"]["old"] > 5
    assert found["found"]["new"] > 1
