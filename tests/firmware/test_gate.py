"""Hosts over TCP, the firmware's gate on CPython with real sockets: none of them can make the board wait."""

import importlib
import socket
import sys
import time
import types

import pytest

from hingeline_protocol.line import unseal
from hingeline_protocol.messages import Err, parse

KEY = bytes(range(16))


class Clock:
    """The board's milliseconds, which a test moves on."""

    now_ms = 0


class Streamer:
    """Streams to nobody."""

    running, console, stopped = False, None, 0

    def stop(self):
        self.running, self.stopped = False, self.stopped + 1


class Radio:
    """A radio that is in its network."""

    def __init__(self, _):
        self.is_on = False

    def active(self, is_on):
        self.is_on = is_on

    def connect(self, name, password):
        pass

    def isconnected(self):
        return True


class Stream:
    """A connection as a board has it: a stream itself."""

    def __init__(self, connection):
        self._connection = connection
        self.setblocking, self.close, self.fileno = connection.setblocking, connection.close, connection.fileno

    def readinto(self, buffer):
        return self._connection.recv_into(buffer)

    def write(self, data):
        try:
            return self._connection.send(data)
        except BlockingIOError:
            return None


class Server:
    """The listening socket, whose connections are a board's."""

    def __init__(self, server):
        self._server = server
        self.close, self.getsockname = server.close, server.getsockname

    def accept(self):
        connection, address = self._server.accept()
        return Stream(connection), address


class Requests:
    """Answers each line with `ok`, and notes it."""

    def __init__(self, board, streamer, console, login):
        self.console, self.lines = console, board

    def answer(self, line):
        self.lines.append(line)


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    for name, function in (
        ("ticks_ms", lambda: clock.now_ms),
        ("ticks_us", lambda: 1000 * clock.now_ms),
        ("ticks_diff", lambda later, earlier: later - earlier),
        ("ticks_add", lambda ticks, more: ticks + more),
        ("sleep_ms", lambda _: None),
    ):
        monkeypatch.setattr(time, name, function, raising=False)
    monkeypatch.setitem(sys.modules, "network", types.SimpleNamespace(WLAN=Radio, STA_IF=0))
    return clock


@pytest.fixture
def gate(clock, monkeypatch):
    """A gate at any free port; `lines` are those that a host asked."""
    for name in ("gate", "wifi"):  # they take the clock's functions as they are imported
        monkeypatch.delitem(sys.modules, f"hingeline_firmware.{name}", raising=False)
    module = importlib.import_module("hingeline_firmware.gate")
    monkeypatch.setattr(module, "Requests", Requests)
    lines = []
    gate = module.Gate({"port": 0, "name": b"n", "password": b"", "key": KEY}, lines, Streamer())
    gate.lines, gate._server = lines, Server(gate._server)
    yield gate
    gate.close()
    for name in ("gate", "wifi"):
        sys.modules.pop(f"hingeline_firmware.{name}", None)


@pytest.fixture
def call(gate):
    """Call the gate, as a host does; all hang up at the end."""
    hosts = []

    def connect():
        host = socket.create_connection(gate._server.getsockname(), timeout=5)
        hosts.append(host)
        gate.step()
        return host

    yield connect
    for host in hosts:
        host.close()


def stepped(gate, is_so):
    """Step until something is so; the network takes its time."""
    for _ in range(500):
        gate.step()
        if is_so():
            return True
        time.sleep(0.01)
    return False


def hung_up(host):
    return host.recv(4096) == b""


@pytest.mark.timeout(30)
def test_nobody_calls_and_a_silent_host_cost_no_time(gate, call):
    gate.step()
    call()
    for _ in range(100):
        gate.step()
    assert gate._guest is not None


@pytest.mark.timeout(30)
def test_a_host_that_reads_nothing_does_not_stop_the_board(gate, call):
    call()
    sent = [gate._guest.send(b"x" * 200 + b"\n") for _ in range(100_000)]
    assert sent[0]
    assert not sent[-1]


@pytest.mark.timeout(30)
def test_a_second_host_is_told_that_the_first_is_connected(gate, call):
    first, second = call(), call()
    assert stepped(gate, lambda: True)
    error = parse(unseal(second.recv(4096)))
    assert isinstance(error, Err)
    assert (error.request, error.code) == (0, "busy")
    assert hung_up(second)
    first.sendall(b"a line\n")
    assert stepped(gate, lambda: gate.lines == [b"a line"])


@pytest.mark.timeout(30)
@pytest.mark.parametrize(("state", "limit_ms"), [((False, False), 5000), ((True, True), 5000), ((True, False), 60000)])
def test_a_silent_host_is_disconnected(gate, call, clock, state, limit_ms):
    """Not logged in, or taking none of its stream: 5 s; asking nothing: a minute."""
    host, (passed, streams) = call(), state
    gate._guest.login.passed = passed
    gate._streamer.running, gate._streamer.console = streams, gate._guest if streams else None
    clock.now_ms = limit_ms
    gate.step()
    assert gate._guest is not None
    clock.now_ms = limit_ms + 1
    gate.step()
    assert gate._guest is None
    assert gate._streamer.stopped == streams
    assert hung_up(host)
    assert call()
    assert gate._guest is not None


@pytest.mark.timeout(30)
@pytest.mark.parametrize("passed", [True, False])
def test_what_a_host_asks_keeps_it_connected_once_it_is_logged_in(gate, call, clock, passed):
    host = call()
    gate._guest.login.passed = passed
    clock.now_ms = 4000
    host.sendall(b"a line\n")
    assert stepped(gate, lambda: gate.lines)
    gate._guest.login.passed = passed
    clock.now_ms = 60001 if passed else 5001
    gate.step()
    assert (gate._guest is not None) is passed


@pytest.mark.timeout(30)
def test_a_host_that_hangs_up_makes_room(gate, call):
    call().close()
    assert stepped(gate, lambda: gate._guest is None)


def test_a_gate_that_closes_leaves_the_network(gate, call):
    host, radio = call(), gate.station._wlan
    assert radio.is_on
    gate.close()
    assert not radio.is_on
    assert hung_up(host)
    gate.close = lambda: None
