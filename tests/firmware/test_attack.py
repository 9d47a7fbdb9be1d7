"""Attacks on the TCP link, recorded: the real firmware on MicroPython, real connections, and strangers without the key.

The figures are in docs/threat-model.md.
"""

import os
import socket
import threading
import time
from binascii import crc32
from contextlib import ExitStack, suppress

import pytest
from tests.firmware.test_wifi import (  # noqa: F401 -- its board and its hosts
    Caught,
    cable,
    codes,
    free_port,
    free_port_of,
    guest,
)

from hingeline_protocol.messages import Get, Hello, Login, Ok, Put, Sample, Start, Stop, Wifi, pack

pytestmark = pytest.mark.long

DELAY_S = 2.0
"""So much strangers may delay the owner. What is promised is a time (docs/threat-model.md): four times the usual."""
TRIES = 6
CALIBRATION = b"forged"


class Stranger(threading.Thread):
    """Takes a seat, holds it, and takes the next as soon as the board hangs up, until `end` is set."""

    def __init__(self, port, line):
        super().__init__(daemon=True)
        self.tries = 0
        self.end = threading.Event()
        self._port, self._line = port, line
        self.start()

    def run(self):
        while not self.end.is_set():
            with suppress(OSError), socket.create_connection(("127.0.0.1", self._port), 1.0) as connection:
                self.tries += 1
                connection.settimeout(0.02)
                while not self.end.is_set():
                    with suppress(TimeoutError):
                        connection.sendall(self._line)
                        if not connection.recv(4096):
                            break


@pytest.mark.parametrize("line", [b"", pack(Hello(1, 1, 1)), b"x" * 4096], ids=["silent", "asks", "floods"])
def test_three_strangers_do_not_keep_the_owner_out(cable, free_port, line):  # noqa: F811
    """Before there were seats, a board served the first that came: the owner got in 0 times of 6 in 25 s."""
    cable.ask(Stop)
    strangers = [Stranger(free_port, line) for _ in range(3)]
    took_s = []
    try:
        for _ in range(TRIES):
            time.sleep(0.3)  # so that strangers have all seats again
            began_s = time.monotonic()
            with Caught(free_port) as owner:
                assert isinstance(owner.log_in()[-1], Ok)
                took_s.append(time.monotonic() - began_s)
                owner.ask(Start)
                owner.take(Sample, 5)
                owner.ask(Stop)
    finally:
        for stranger in strangers:
            stranger.end.set()
        for stranger in strangers:
            stranger.join()
    print("owner let in after", [round(each_s, 2) for each_s in took_s], "s")
    assert min(stranger.tries for stranger in strangers) > 1, "they were there"
    assert max(took_s) < DELAY_S, took_s


def test_who_takes_a_connection_over_writes_nothing(cable, guest):  # noqa: F811
    """Whoever alters packets after the login is to the board the host that has logged in."""
    assert isinstance(guest.log_in()[-1], Ok)
    sensor = guest.ask(Hello, 1, 1)[2].sensor
    before = cable.ask(Get, sensor, 0)
    assert codes(guest.ask(Put, sensor, 0, 1, f"{crc32(CALIBRATION):08X}", CALIBRATION)) == ["cable"]
    assert codes(guest.ask(Wifi, 0, b"", b"", b"")) == ["cable"]
    assert codes(cable.ask(Get, sensor, 0)) == codes(before) == ["empty"]
    assert isinstance(cable.ask(Put, sensor, 0, 1, f"{crc32(CALIBRATION):08X}", CALIBRATION)[-1], Ok)


def test_a_recorded_login_opens_no_other_connection(cable, free_port):  # noqa: F811
    """Who records all that a host sends and sends it again, byte for byte, is refused."""
    cable.ask(Stop)
    with Caught(free_port) as owner:
        proof = owner.proof()
        assert isinstance(owner.ask(Login, proof)[-1], Ok)
    cable.ask(Stop)
    cable.ask(Stop)
    with Caught(free_port) as stranger:
        stranger.proof()  # the same nonce of the host, another of the board
        assert codes(stranger.ask(Login, proof)) == ["login"]
        assert stranger.hangs_up()


def test_a_proof_for_one_connection_opens_no_other_at_the_same_time(cable, free_port):  # noqa: F811
    cable.ask(Stop)
    with ExitStack() as stack:
        first, second = (stack.enter_context(Caught(free_port)) for _ in range(2))
        proof = first.proof()
        second.proof()
        assert codes(second.ask(Login, proof)) == ["login"]


def test_guessing_gets_one_guess_a_connection(cable, free_port):  # noqa: F811
    cable.ask(Stop)
    for _ in range(3):
        with Caught(free_port) as stranger:
            assert codes(stranger.ask(Login, os.urandom(32))) == ["login"]
            assert stranger.hangs_up()
