"""A board on the network: in with its key, kept or named; out with none or another; one host at a time."""

import json
import select
import socket
import threading
import time
from contextlib import suppress
from functools import partial

import pytest
from click.testing import CliRunner
from tests.boards import board, sensor
from tests.firmware.test_attack import Stranger

from hingeline.cli import cli
from hingeline.device.link import KEY_VARIABLE
from hingeline.device.link.board import BoardLink
from hingeline.device.samples import Sample
from hingeline.errors import BoardRefused, PortBusy, WrongKey
from hingeline.storage.keys import load_key, open_fleet, save_key
from hingeline.storage.store import Store

pytestmark = pytest.mark.long

UID = "c0ffee01"
BOARD = "seed = 5\n" + board("alpha", sensor("left"), uid=UID)
KEY = bytes(range(16))


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A store of its own, and no key in the environment."""
    monkeypatch.setenv("HINGELINE_HOME", str(tmp_path / "home"))
    monkeypatch.delenv(KEY_VARIABLE, raising=False)
    return tmp_path / "home"


@pytest.fixture
def tcp_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]


@pytest.fixture
def cable(bench_of):
    """The port of a board on its cable."""
    return bench_of(BOARD).ports["alpha"]


@pytest.fixture
def served(home, cable, tcp_port):
    """The port of a board over TCP; its key is `KEY`, which nobody keeps."""
    link = open_link(cable)
    link.serve_wifi(tcp_port, b"hangar", b"correct horse", KEY)
    reachable = link.reachable()
    link.close()
    return f"socket://{reachable.address}:{reachable.port}"


def open_link(port):
    return BoardLink(port, lambda arrived: None, key_of=partial(load_key, Store()))


def run(*arguments):
    return CliRunner().invoke(cli, arguments, standalone_mode=False)


def test_a_kept_key_opens_the_stream(served):
    save_key(Store(), UID, KEY)
    with open_fleet(Store(), [served], print) as fleet:
        fleet.start()
        events = iter(fleet)
        samples = [next(events) for _ in range(50)]
        assert all(isinstance(sample, Sample) for sample in samples)
        assert fleet.counts[served].bad == 0


def test_it_is_the_same_on_cpython(bench_of, home, tcp_port):
    cable = open_link(bench_of(BOARD, "--tcp").ports["alpha"])
    cable.serve_wifi(tcp_port, b"hangar", b"", KEY)
    save_key(Store(), UID, KEY)
    link = open_link(f"socket://127.0.0.1:{tcp_port}")
    assert link.board.uid == UID
    link.close()
    cable.close()


def test_a_named_key_goes_before_the_kept_one(served, monkeypatch):
    save_key(Store(), UID, KEY[::-1])
    monkeypatch.setenv(KEY_VARIABLE, KEY.hex())
    open_link(served).close()


def test_another_key_is_told_and_the_next_host_is_let_in(served, monkeypatch):
    monkeypatch.setenv(KEY_VARIABLE, KEY[::-1].hex())
    with pytest.raises(WrongKey, match="has another key than this computer") as error:
        open_link(served)
    assert error.value.exit_status == 4
    assert "hingeline wifi" in error.value.cure
    monkeypatch.setenv(KEY_VARIABLE, KEY.hex())
    open_link(served).close()


def test_without_a_key_the_board_is_named(served):
    with pytest.raises(WrongKey, match=f"asks for the key of board {UID}"):
        open_link(served)


@pytest.mark.parametrize("named", ["", "abc", "zz" * 16, "00" * 15])
def test_a_named_key_that_is_none(served, monkeypatch, named):
    monkeypatch.setenv(KEY_VARIABLE, named)
    result = run("boards", "--port", served)
    assert result.return_value == 2
    assert KEY_VARIABLE in result.stderr


def test_a_second_host_learns_that_there_is_one(served):
    save_key(Store(), UID, KEY)
    link = open_link(served)
    try:
        with pytest.raises(PortBusy, match="held by another host"):
            open_link(served)
        assert link.status().streaming == 0
    finally:
        link.close()


def test_the_cable_waits_while_the_network_measures(served, cable):
    save_key(Store(), UID, KEY)
    link = open_link(served)
    try:
        link.start(50, 4)
        with pytest.raises(PortBusy, match="another host measures"):
            open_link(cable)
        assert link.status().streaming == 1
    finally:
        link.close()


def test_the_command_sets_a_board_up_and_off_again(home, cable, tcp_port, monkeypatch):
    monkeypatch.setenv("HINGELINE_WIFI_PASSWORD", "correct horse")
    result = run("wifi", "hangar", "--tcp-port", str(tcp_port), "--port", cable, "--json")
    assert result.return_value == 0, result.stderr
    port = json.loads(result.stdout)["port"]
    assert port == f"socket://127.0.0.1:{tcp_port}"
    kept = Store().history("settings", f"key-{UID}")[-1].path
    assert kept.stat().st_mode & 0o077 == 0, "nobody else may read it"
    assert json.loads(kept.read_text())["payload"]["key"] not in result.output

    boards = json.loads(run("boards", "--port", port, "--json").stdout)["boards"]
    assert [board["uid"] for board in boards] == [UID]

    named = f"socket://localhost:{tcp_port}"  # stands in for hingeline-c0ffee01.local, which a radio's chip answers for
    save_key(Store(), UID, bytes.fromhex(load_key(Store(), UID).text), True, ("socket://127.0.0.1:1", named))
    assert run("boards", "--port", cable).return_value == 0  # and by then it knows that the last host hung up
    boards = json.loads(run("boards", "--json").stdout)["boards"]
    assert [(board["uid"], board["port"]) for board in boards] == [(UID, named)], "without typing an address"

    assert run("wifi", "--off", "--port", cable).return_value == 0
    assert run("boards", "--port", port).return_value == 3


@pytest.mark.parametrize("arguments", [(), ("hangar", "--off")])
def test_the_command_wants_a_network_or_none(arguments):
    result = run("wifi", *arguments)
    assert result.return_value == 2
    assert "--off" in result.stderr


def test_a_name_that_is_too_long_is_refused_by_the_board(home, cable):
    result = run("wifi", "n" * 33, "--port", cable, "--no-input")
    assert result.return_value == 7
    assert "1 to 32 bytes" in result.stderr


def test_three_strangers_do_not_delay_the_owner(served):
    """What is promised is a time, 2 s (docs/threat-model.md), four times the usual."""
    save_key(Store(), UID, KEY)
    strangers = [Stranger(int(served.rpartition(":")[2]), b"") for _ in range(3)]
    try:
        time.sleep(0.3)  # so that they have all seats
        began_s = time.monotonic()
        open_link(served).close()
        assert time.monotonic() - began_s < 2.0
    finally:
        for stranger in strangers:
            stranger.end.set()
        for stranger in strangers:
            stranger.join()
    assert min(stranger.tries for stranger in strangers) > 0


def test_a_calibration_goes_over_the_cable_alone(served):
    save_key(Store(), UID, KEY)
    link = open_link(served)
    try:
        with pytest.raises(BoardRefused, match="over the cable only") as error:
            link.store_calibration(link.sensors[0].index, b"forged")
        assert "cable" in error.value.cure
    finally:
        link.close()


class Radio(threading.Thread):
    """A radio between a computer and a board, which can pause."""

    def __init__(self, port):
        super().__init__(daemon=True)
        self.paused = threading.Event()
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port = f"socket://127.0.0.1:{self._server.getsockname()[1]}"
        self._far = socket.create_connection(("127.0.0.1", int(port.rpartition(":")[2])))
        self.start()

    def run(self):
        near, _ = self._server.accept()
        with self._server, near, self._far, suppress(OSError):
            while True:
                ready, _, _ = select.select([near, self._far], [], [], 0.1)
                while self.paused.is_set():
                    time.sleep(0.01)
                for end in ready:
                    if not (data := end.recv(4096)):
                        return
                    (self._far if end is near else near).sendall(data)


def test_silence_of_three_seconds_is_a_pause(served):
    save_key(Store(), UID, KEY)
    radio = Radio(served)
    link = open_link(radio.port)
    link.start(50, 4)
    try:
        for question in (link.status, lambda: None):
            radio.paused.set()
            threading.Timer(3.0, radio.paused.clear).start()
            before = link.counts.lines
            question()
            time.sleep(4.0)
            assert link.counts.lines > before + 50, "the run goes on"
        assert link.counts.lost.total() == 0
        link.stop()
    finally:
        link.close()
