"""Runs on MicroPython: hosts over TCP that fall silent, by a clock that is set here, over real connections.

The argument is a free TCP port. Told as JSON on standard output: by kind of host, whether it is let be until shortly
before its time is over, and whether it is after.
"""

import json
import socket
import sys

import leaping
import network


class Clock(leaping.Clock):
    """A clock that is set here alone."""

    @staticmethod
    def sleep_us(wait_us):
        raise AssertionError("nothing here waits")


sys.modules["time"] = Clock
from hingeline_firmware.console import Console  # noqa: E402
from hingeline_firmware.gate import Gate  # noqa: E402
from hingeline_firmware.login import hmac_sha256  # noqa: E402
from hingeline_firmware.streamer import Streamer  # noqa: E402
from hingeline_firmware.watchdog import Watchdog  # noqa: E402
from hingeline_protocol import messages  # noqa: E402
from hingeline_protocol.line import unseal  # noqa: E402
from hingeline_protocol.login import HOST, signed_text  # noqa: E402

PORT = int(sys.argv[1])
KEY = bytes(16)


class Board:
    """What requests ask of the board."""

    uid = "a1"
    name = "Left wing (new)"
    watchdog = Watchdog(False)


class Host:
    """A host over TCP, its board let act whenever it waits."""

    def __init__(self):
        self._link = socket.socket()
        self._link.connect(socket.getaddrinfo("127.0.0.1", PORT)[0][-1])
        gate.step()

    def ask(self, message):
        self._link.write(messages.pack(message))
        gate.step()
        while True:
            answer = messages.parse(unseal(self._link.readline()))
            if answer.request == message.request:
                return answer

    def log_in(self):
        answer = self.ask(messages.Prove(1, KEY))
        self._link.readline()
        text = signed_text(HOST, KEY, answer.nonce, Board.uid)
        assert self.ask(messages.Login(2, hmac_sha256(KEY, text))) == messages.Ok(2)

    def is_in(self):
        """Whether the board has not hung up; takes all that it sent."""
        self._link.setblocking(False)
        try:
            while self._link.recv(4096):
                pass
        except OSError:
            return True
        finally:
            self._link.setblocking(True)
        return False

    def outlasts(self, limit_ms):
        """Whether it is in shortly before the limit, and shortly after."""
        connected = []
        for wait_ms in (limit_ms - 100, 200):
            Clock.sleep_ms(wait_ms)
            gate.step()
            connected.append(self.is_in())
        return connected


def stranger():
    return Host().outlasts(5000)


def idle():
    host = Host()
    host.log_in()
    return host.outlasts(60000)


def stalled():
    """A host that reads nothing while it is streamed to: the board's output runs full."""
    host = Host()
    host.log_in()
    assert host.ask(messages.Start(3)) == messages.Ok(3)
    while streamer.console.send(b"x" * 200 + b"\n"):
        pass
    return host.outlasts(5000) + [streamer.running]  # noqa: RUF005 -- MicroPython has no [*a, b]


def busy():
    """One that asks now and then, past all limits."""
    host = Host()
    host.log_in()
    for _ in range(100):
        Clock.sleep_ms(50000)
        assert host.ask(messages.Stop(4)) == messages.Ok(4)
    return host.is_in()


def awake():
    """Name on the network; power saving before a host connects, while it is there, and once it has gone."""
    gate.step()
    modes = [gate.station._wlan.config("pm")]
    host = Host()
    host.log_in()
    gate.step()
    modes.append(gate.station._wlan.config("pm"))
    host._link.close()
    for _ in range(3):
        gate.step()
    return [network.hostname(), modes + [gate.station._wlan.config("pm")]]  # noqa: RUF005 -- MicroPython has no [*a, b]


streamer = Streamer(Console(), 50, 4)
gate = Gate({"port": PORT, "name": b"hangar", "password": b"", "key": KEY}, Board(), streamer)
results = {"awake": awake()}  # first: the others leave hosts behind
results.update({"stranger": stranger(), "idle": idle(), "stalled": stalled(), "busy": busy()})
print(json.dumps(results))
