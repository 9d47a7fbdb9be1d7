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
        self.setblocking, self.setsockopt = connection.setblocking, connection.setsockopt
        self.close, self.fileno = connection.close, connection.fileno

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
    """Notes each line that a host asks."""

    def __init__(self, board, streamer, console, login):
        self.lines = board.lines

    def answer(self, line):
        self.lines.append(line)


@pytest.fixture
def gate(clock, monkeypatch):
    """A gate at any free port; `lines` are those that a host asked."""
    monkeypatch.setitem(sys.modules, "network", types.SimpleNamespace(WLAN=Radio, STA_IF=0))
    for name in ("gate", "wifi"):  # they take the clock's functions as they are imported
        monkeypatch.delitem(sys.modules, f"hingeline_firmware.{name}", raising=False)
    module = importlib.import_module("hingeline_firmware.gate")
    monkeypatch.setattr(module, "Requests", Requests)
    board = types.SimpleNamespace(uid="e661", name="", lines=[])
    gate = module.Gate({"port": 0, "name": b"n", "password": b"", "key": KEY}, board, Streamer())
    gate.lines, gate._server = board.lines, Server(gate._server)
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


@pytest.fixture
def let_in(gate, call):
    """Call the gate and prove the key, as it were."""

    def connect():
        host = call()
        gate._callers[-1].login.passed = True
        assert stepped(gate, lambda: gate._guest is not None)
        return host

    return connect


@pytest.mark.timeout(30)
def test_nobody_calls_and_a_silent_host_cost_no_time(gate, call):
    gate.step()
    call()
    for _ in range(100):
        gate.step()
    assert len(gate._callers) == 1


@pytest.mark.timeout(30)
def test_a_host_that_reads_nothing_does_not_stop_the_board(gate, let_in):
    let_in()
    sent = [gate._guest.send(b"x" * 2000 + b"\n") for _ in range(10_000)]
    assert sent[0]
    assert not sent[-1]


def busy(host):
    """Whether a host is told that another one is connected, and hung up on."""
    error = parse(unseal(host.recv(4096)))
    return isinstance(error, Err) and (error.request, error.code) == (0, "busy") and hung_up(host)


@pytest.mark.timeout(30)
def test_who_logs_in_is_served_and_all_others_are_told_so(gate, call, let_in):
    tries, first, late = call(), let_in(), call()
    assert busy(tries)
    assert busy(late)
    first.sendall(b"a line\n")
    assert stepped(gate, lambda: gate.lines == [b"a line"])


@pytest.mark.timeout(30)
def test_three_hosts_may_try_and_a_fourth_takes_the_seat_of_one_that_had_its_time(gate, call, clock):
    hosts = [call() for _ in range(3)]
    fourth = call()
    assert len(gate._callers) == 3
    clock.now_ms = 799
    gate.step()
    assert len(gate._callers) == 3
    clock.now_ms = 800
    gate.step()
    assert len(gate._callers) == 3
    assert hung_up(hosts[0])
    fourth.sendall(b"the fourth\n")
    assert stepped(gate, lambda: gate.lines == [b"the fourth"])


@pytest.mark.timeout(30)
def test_each_that_tries_has_its_turn(gate, call):
    for number, host in enumerate([call(), call(), call()]):
        host.sendall(b"host %d\n" % number)
    assert stepped(gate, lambda: len(gate.lines) == 3)
    assert sorted(gate.lines) == [b"host 0", b"host 1", b"host 2"]


@pytest.mark.timeout(30)
@pytest.mark.parametrize(("streams", "limit_ms"), [(True, 5000), (False, 60000)])
def test_a_host_that_takes_or_asks_nothing_is_disconnected(gate, let_in, clock, streams, limit_ms):
    """One that takes none of its stream: after 5 s; one that asks nothing: after a minute."""
    host = let_in()
    gate._streamer.running, gate._streamer.console = streams, gate._guest if streams else None
    clock.now_ms = limit_ms
    gate.step()
    assert gate._guest is not None
    clock.now_ms = limit_ms + 1
    gate.step()
    assert gate._guest is None
    assert gate._streamer.stopped == streams
    assert hung_up(host)
    assert let_in()


@pytest.mark.timeout(30)
def test_a_host_that_does_not_log_in_is_disconnected_whatever_it_asks(gate, call, clock):
    host = call()
    clock.now_ms = 5000
    host.sendall(b"a line\n")
    assert stepped(gate, lambda: gate.lines)
    assert gate._callers
    clock.now_ms = 5001
    gate.step()
    assert not gate._callers
    assert hung_up(host)


@pytest.mark.timeout(30)
def test_what_a_host_asks_keeps_it_connected(gate, let_in, clock):
    host = let_in()
    clock.now_ms = 40000
    host.sendall(b"a line\n")
    assert stepped(gate, lambda: gate.lines)
    clock.now_ms = 100000
    gate.step()
    assert gate._guest is not None
    clock.now_ms = 100001
    gate.step()
    assert gate._guest is None


@pytest.mark.timeout(30)
def test_a_host_whose_proof_is_wrong_is_hung_up_on(gate, call):
    host = call()
    gate._callers[0].login.failed = True
    gate.step()
    assert not gate._callers
    assert hung_up(host)


@pytest.mark.timeout(30)
def test_a_host_that_hangs_up_makes_room(gate, call, let_in):
    call().close()
    assert stepped(gate, lambda: not gate._callers)
    let_in().close()
    assert stepped(gate, lambda: gate._guest is None)


def test_a_gate_that_closes_leaves_the_network(gate, call):
    hosts, radio = [call(), call()], gate.station._wlan
    assert radio.is_on
    gate.close()
    assert not radio.is_on
    assert all(map(hung_up, hosts))
    gate.close = lambda: None


def test_each_line_is_sent_at_once(gate, call):
    """Nagle's algorithm would hold a line back until the one before is acknowledged (RFC 896; RFC 1122, 4.2.3.4)."""
    call()
    assert gate._callers[0]._connection._connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
