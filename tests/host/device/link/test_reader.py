"""A reading thread that fails ends its command with the cause, and holds up neither the others nor the terminal."""

import errno
import threading

import pytest
from tests.boards import take

from hingeline.device.samples import BoardGone
from hingeline.errors import HingelineError, StoreError
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import lines

PATIENCE_S = 5.0


def outcome(action):
    """Return what an action raises; the test fails where it does not end."""
    raised = []

    def act():
        try:
            action()
        except HingelineError as error:
            raised.append(error)

    thread = threading.Thread(target=act, daemon=True)
    thread.start()
    thread.join(PATIENCE_S)
    assert not thread.is_alive(), "it waits for ever"
    (error,) = raised
    return error


def iterate(fleet):
    for event in fleet:
        if isinstance(event, BoardGone):
            raise event.error


def break_decoder(fleet, monkeypatch):
    def decode(line):
        raise ZeroDivisionError("no one foresaw it")

    monkeypatch.setattr(fleet.boards[0].decoder, "decode", decode)


@pytest.mark.filterwarnings("error")
def test_an_unforeseen_exception_ends_the_command_with_its_cause(own_fleet, tmp_path, monkeypatch):
    path = tmp_path / "1-throws.log"
    with Recorder(path) as recorder:
        own_fleet.record(recorder.lines)
        own_fleet.start()
        take(own_fleet, 20)
        break_decoder(own_fleet, monkeypatch)
        error = outcome(lambda: iterate(own_fleet))
    assert error.exit_status == 1
    assert "ZeroDivisionError: no one foresaw it (test_reader.py, line" in error.message
    assert "not of the board" in error.cure
    assert isinstance(error.__cause__, ZeroDivisionError)
    assert len(list(lines(path))) >= 20


def test_an_unforeseen_exception_ends_a_request(own_fleet, monkeypatch):
    (link,) = own_fleet.boards
    break_decoder(own_fleet, monkeypatch)
    assert "ZeroDivisionError" in outcome(link.status).message
    assert "ZeroDivisionError" in outcome(link.status).message


@pytest.mark.parametrize(
    "failure", [OSError(errno.EIO, "Input/output error"), StoreError("The disk is full", "Free some space")]
)
def test_a_failing_disk_is_not_told_as_the_board_s_fault(own_fleet, failure):
    def write(lines):
        raise failure from None

    own_fleet.record(write)
    error = outcome(own_fleet.start)
    assert "pulled out" not in error.message
    assert failure in (error, error.__cause__)


def test_what_a_reading_thread_has_to_tell_is_told_by_the_thread_that_iterates(own_fleet):
    told_by = []
    own_fleet.record(lambda lines: own_fleet.defer(lambda: told_by.append(threading.current_thread())))
    own_fleet.start()
    take(own_fleet, 20)
    assert set(told_by) == {threading.current_thread()}
