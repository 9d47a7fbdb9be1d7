"""Hosts over TCP, through the real firmware on MicroPython and real connections: one, with the key, and nobody else."""

import hmac
import itertools
import json
import socket
import subprocess
import time
from pathlib import Path

import pytest
from tests.firmware.conftest import PATIENCE_S, POLL_S, Wire
from tests.firmware.installed import environment
from tests.unix_port import micropython

from hingeline_protocol.line import LINE_LIMIT
from hingeline_protocol.messages import (
    Address,
    Challenge,
    Err,
    Hello,
    Login,
    Ok,
    Proof,
    Prove,
    Rate,
    Reachable,
    Sample,
    Start,
    State,
    Status,
    Stop,
    Wifi,
    pack,
)

pytestmark = pytest.mark.long

KEY = bytes(range(0x40, 0x50))
HOST_NONCE = bytes(range(16))
NAME, PASSWORD = b"hangar", b"correct horse"
SENSORS = """
[[boards.sensors]]
name = "left"
chip = "mpu6050"
"""
ROOT = Path(__file__).parents[2]
SHADOWS = ROOT / "host" / "hingeline_virtual" / "on_board"


class Caught(Wire):
    """A wire over TCP whose every byte received is kept."""

    def __init__(self, port):
        super().__init__(f"socket://127.0.0.1:{port}")
        self.caught = b""
        read = self.port.read

        def keeping():
            data = read()
            self.caught += data
            return data

        self.port.read = keeping

    def log_in(self, key=KEY):
        """The answers to a login."""
        return self.ask(Login, self.proof(key))

    def proof(self, key=KEY):
        """What proves this host to the board, by the words of PROTOCOL.md; the board proves itself before."""
        answer = self.ask(Prove, HOST_NONCE)[0]
        assert isinstance(answer, Proof)
        assert len(answer.nonce) == 16
        nonces = HOST_NONCE + answer.nonce + answer.uid.encode()
        assert answer.proof == hmac.digest(KEY, b"hingeline login board " + nonces, "sha256")
        return hmac.digest(key, b"hingeline login host " + nonces, "sha256")

    def hangs_up(self):
        """Whether the board closes the connection."""
        end = time.monotonic() + PATIENCE_S
        try:
            while time.monotonic() < end:
                if self.port.wait(POLL_S):
                    self.port.read()
        except OSError:
            return True
        return False


@pytest.fixture(scope="session")
def free_port_of():
    """A function that returns a TCP port which nobody has."""

    def find():
        with socket.create_server(("127.0.0.1", 0)) as server:
            return server.getsockname()[1]

    return find


@pytest.fixture(scope="module")
def free_port(free_port_of):
    return free_port_of()


@pytest.fixture(scope="module")
def cable(connected, free_port):
    """The cable to a board that serves at `free_port`."""
    with connected(SENSORS, head="speed = 1", board='uid = "a1"') as (_, wire):
        assert isinstance(wire.ask(Wifi, free_port, NAME, PASSWORD, KEY)[-1], Ok)
        yield wire


@pytest.fixture
def guest(cable, free_port):
    """A host over TCP, not logged in."""
    cable.ask(Stop)
    with Caught(free_port) as wire:
        yield wire
    # A board notices the hang-up at its next step: the cable's answer comes after it.
    cable.ask(Status)
    cable.ask(Status)


def codes(answers):
    return [answer.code for answer in answers if isinstance(answer, Err)]


def test_it_is_off_until_the_cable_says_where(connected, free_port_of):
    port = free_port_of()
    with connected(SENSORS, head="speed = 1") as (_, wire):
        assert wire.ask(Address)[0][1:] == ("0.0.0.0", 0)
        with pytest.raises(OSError, match="refused"):
            socket.create_connection(("127.0.0.1", port))
        wire.ask(Wifi, port, NAME, PASSWORD, KEY)
        assert wire.ask(Address)[0][1:] == ("127.0.0.1", port)
        socket.create_connection(("127.0.0.1", port)).close()
        wire.ask(Wifi, 0, b"", b"", b"")
        assert wire.ask(Address)[0][1:] == ("0.0.0.0", 0)
        with pytest.raises(OSError, match="refused"):
            socket.create_connection(("127.0.0.1", port))


@pytest.mark.parametrize(
    "fields",
    [
        (0, NAME, PASSWORD, KEY),
        (65536, NAME, PASSWORD, KEY),
        (8000, b"", PASSWORD, KEY),
        (8000, b"n" * 33, PASSWORD, KEY),
        (8000, NAME, b"seven77", KEY),
        (8000, b"\xff\xfe", PASSWORD, KEY),
        (8000, NAME, PASSWORD, b""),
        (8000, NAME, PASSWORD, KEY[1:]),
    ],
)
def test_what_can_not_be_a_network_is_refused_and_the_former_stays(cable, free_port, fields):
    assert codes(cable.ask(Wifi, *fields)) == ["range"]
    assert cable.ask(Address)[0].port == free_port


def test_the_longest_names_fit_a_line():
    assert len(pack(Wifi(65535, 65535, b"n" * 32, b"p" * 63, KEY))) <= LINE_LIMIT


def test_with_the_key_it_is_as_over_the_cable(cable, guest):
    assert isinstance(guest.log_in()[-1], Ok)
    board, _, sensor, *_ = guest.ask(Hello, 1, 1)
    assert (board.uid, sensor.chip) == ("a1", "mpu6050")
    guest.ask(Rate, 50, 4)
    guest.ask(Start)
    samples = guest.take(Sample, 100)
    assert {(b.sequence - a.sequence) % 65536 for a, b in itertools.pairwise(samples[1:])} == {1}
    assert guest.unsound == []
    assert not [message for message in cable.log if isinstance(message, Sample)], "the stream goes to who started it"


def test_another_host_can_not_disturb_who_measures(cable, guest):
    guest.log_in()
    guest.ask(Start)
    assert [codes(cable.ask(request, *fields)) for request, *fields in ((Start,), (Stop,), (Rate, 50, 4))] == [
        ["busy"]
    ] * 3
    assert isinstance(cable.ask(Status)[0], State)
    guest.take(Sample, 10)
    guest.port.close()
    cable.until(lambda answers: isinstance(answers[-1], Ok), Start)
    cable.take(Sample, 10)
    cable.ask(Stop)


@pytest.mark.parametrize(
    ("request_", "fields"),
    [(Hello, (1, 1)), (Start, ()), (Status, ()), (Wifi, (1, NAME, b"", KEY)), (Address, ())],
)
def test_before_the_login_nothing_is_granted(guest, request_, fields):
    (answer,) = guest.ask(request_, *fields)
    assert answer.code == "login"


def test_a_wrong_key_is_refused_and_hung_up(guest):
    (answer,) = guest.log_in(KEY[::-1])
    assert answer.code == "login"
    assert guest.hangs_up()


def test_a_nonce_can_be_met_once(guest):
    proof = guest.proof()
    assert isinstance(guest.ask(Login, proof)[-1], Ok)
    assert codes(guest.ask(Login, proof)) == ["login"]
    assert guest.hangs_up()


def test_no_two_nonces_are_alike(guest):
    assert len({guest.ask(Prove, HOST_NONCE)[0].nonce for _ in range(20)}) == 20


@pytest.mark.parametrize("size", [0, 15, 17, 64])
def test_the_board_signs_no_nonce_of_another_length(guest, size):
    assert codes(guest.ask(Prove, bytes(size))) == ["range"]


def test_the_boards_own_proof_opens_nothing(guest):
    answer = guest.ask(Prove, HOST_NONCE)[0]
    assert codes(guest.ask(Login, answer.proof)) == ["login"]
    assert guest.hangs_up()


def test_what_a_computer_of_the_first_release_signs_opens_nothing(guest):
    assert codes(guest.ask(Challenge)) == ["login"]
    answer = guest.ask(Prove, HOST_NONCE)[0]
    assert codes(guest.ask(Login, hmac.digest(KEY, answer.nonce, "sha256"))) == ["login"]


def test_a_second_host_is_told_and_hung_up_the_first_goes_on(guest, free_port):
    guest.log_in()
    guest.ask(Start)
    with Caught(free_port) as second:
        message = second.next(lambda message: isinstance(message, Err))
        assert (message.request, message.code) == (0, "busy")
        assert second.hangs_up()
    guest.take(Sample, 20)


def test_who_falls_silent_makes_room(free_port_of):
    result = json.loads(
        subprocess.run(
            [micropython(), Path(__file__).with_name("silence.py"), str(free_port_of())],
            env=environment(SHADOWS),
            capture_output=True,
            check=True,
        ).stdout
    )
    assert result["stranger"] == [True, False]
    assert result["idle"] == [True, False]
    assert result["stalled"] == [True, False, False], "and its stream ends"
    assert result["busy"] is True
    assert result["awake"] == ["hingeline-left-wing-new", [1, 0, 1]], "its radio saves power while nobody is there"


def test_settings_come_from_the_cable_alone_and_nothing_secret_is_on_the_network(cable, guest, free_port):
    guest.log_in()
    guest.ask(Hello, 1, 1)
    assert codes(guest.ask(Wifi, 0, b"", b"", b"")) == ["cable"]
    assert guest.ask(Address)[0] == Reachable(guest.log[-2].request, "127.0.0.1", free_port)
    guest.ask(Start)
    guest.take(Sample, 20)
    # What this host sent is a proof, and `hello`, `wifi` without content, `address`, `start`: no secret of its own.
    for secret in (KEY, PASSWORD, NAME):
        assert secret not in guest.caught
        assert secret.hex().encode() not in guest.caught
    assert codes(cable.ask(Prove, HOST_NONCE)) == ["cable"], "the cable needs no login"


def test_ctrl_c_over_the_network_ends_nothing(guest):
    guest.port.write(b"\x03\n")
    assert isinstance(guest.log_in()[-1], Ok)
    assert isinstance(guest.ask(Status)[0], State)


def test_bytes_without_end_do_not_keep_the_board(cable, guest):
    guest.port.write(b"x" * 20000)
    assert isinstance(cable.ask(Status)[0], State)


def test_it_serves_again_after_a_restart(connected, free_port_of):
    port = free_port_of()
    with connected(SENSORS, head="speed = 1") as (bench, wire):
        wire.ask(Wifi, port, NAME, PASSWORD, KEY)
        bench.do("reset", board="one")
        wire.next(lambda message: isinstance(message, Ok) and message.request == 0)
        with Caught(port) as guest:
            assert isinstance(guest.log_in()[-1], Ok)


def test_what_is_forgotten_is_on_the_board_no_more(tmp_path):
    def run(*fields):
        subprocess.run(
            [micropython(), "-c", f"from hingeline_firmware import wifi; wifi.save{fields}"],
            env=environment(),
            cwd=tmp_path,
            check=True,
        )
        return b"".join(path.read_bytes() for path in tmp_path.iterdir())

    assert KEY.hex().encode() in run(8000, NAME, PASSWORD, KEY)
    kept = run(0, b"", b"", b"")
    assert not [secret for secret in (KEY, NAME, PASSWORD) if secret.hex().encode() in kept]


def test_a_board_without_wifi_knows_it():
    """MicroPython's unix port has no module `network`."""
    result = subprocess.run(
        [micropython(), "-c", "from hingeline_firmware import wifi; print(wifi.available())"],
        env=environment(),
        capture_output=True,
        check=True,
    )
    assert result.stdout.strip() == b"False"
