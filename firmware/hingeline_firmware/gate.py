"""Hosts over TCP: one is let in by the key, disconnected when silent for too long; three may try meanwhile."""

import select
import socket
from time import ticks_diff, ticks_ms

from hingeline_firmware.console import Console, any_ready, poll_of
from hingeline_firmware.login import Login
from hingeline_firmware.requests import Requests
from hingeline_firmware.wifi import Station
from hingeline_protocol import messages
from hingeline_protocol.names import host_name

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

_SEATS = 3
"""Hosts that may try to log in at one time."""
_WAITING = 2
"""Connections that wait for a seat. lwIP has five in all on a Pico: its `MEMP_NUM_TCP_PCB`."""
_SEAT_MS = 800
"""So long a host has its seat for sure; then it makes room for the next that waits."""
_LOGIN_MS = 5000
"""A host that has not logged in by then is disconnected in any case."""
_STALLED_MS = 5000
"""A host that takes no line of its stream for so long is gone: the network does not report that."""
_IDLE_MS = 60000
"""A host that asks nothing for so long is disconnected."""


class Guest(Console):
    """A host over TCP.

    Attributes
    ----------
    gone
        The connection has ended.
    """

    HEEDS_CTRL_C = False

    def __init__(self, connection, login):
        connection.setblocking(False)
        if hasattr(socket, "TCP_NODELAY"):  # a port of MicroPython without it sends each line at once
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._connection = connection
        # A board's socket is a stream itself; CPython's isn't.
        stream = connection if hasattr(connection, "readinto") else connection.makefile("rwb", 0)
        Console.__init__(self, stream, stream)
        self.login = login
        self.requests: "Any" = None
        self.gone = False
        self._alive_ms = ticks_ms()

    def line(self):
        """As a console's."""
        line = Console.line(self)
        if line is not None:
            self._note_activity()
        return line

    def send(self, line):
        """As a console's; nothing is sent once the host is gone."""
        try:
            sent = not self.gone and Console.send(self, line)
        except OSError:
            self.gone = True
            return False
        if sent:
            self._note_activity()
        return sent

    def overdue(self, streams):
        """Whether this host has been silent for too long; streaming to it shortens that."""
        return self.silent_ms() > (_LOGIN_MS if not self.login.passed else _STALLED_MS if streams else _IDLE_MS)

    def silent_ms(self):
        """How long it has been silent; before the login, how long it has been there."""
        return ticks_diff(ticks_ms(), self._alive_ms)

    def close(self):
        """Close the connection."""
        self._connection.close()

    def _note_activity(self):
        if self.login.passed:
            self._alive_ms = ticks_ms()

    def _take(self):
        try:
            taken = Console._take(self)
        except OSError:
            taken = 0
        if taken == 0:  # None: nothing yet
            self.gone = True
        return taken


class Gate:
    """A TCP port on the board's network.

    Raises
    ------
    ImportError, OSError
        This board has no Wi-Fi, or it does not come up.
    """

    def __init__(self, settings, board, streamer):
        self._key = settings["key"]
        self._board = board
        self._streamer = streamer
        self._guest: "Any" = None
        self._callers = []
        self._turn = 0
        self.port = settings["port"]
        self.station = Station(settings["name"], settings["password"], host_name(board.name, board.uid))
        self._server = socket.socket()
        self._server.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._server.bind(socket.getaddrinfo("0.0.0.0", self.port)[0][-1])
        self._server.listen(_WAITING)
        self._server.setblocking(False)
        self._calls = poll_of(self._server, select.POLLIN)

    def step(self):
        """Accept a host that calls, and answer those that are connected."""
        self.station.step()
        self.station.stay_awake(self._guest is not None or bool(self._callers))
        if any_ready(self._calls, select.POLLIN):
            self._accept()
        if self._guest is not None:
            self._answer(self._guest)
        elif self._callers:  # one of them, so that strangers take the board no more time than a guest does
            self._turn += 1
            self._answer(self._callers[self._turn % len(self._callers)])

    def close(self):
        """Disconnect the hosts and leave the network."""
        while self._callers:
            self._dismiss(self._callers[0])
        if self._guest is not None:
            self._dismiss(self._guest)
        self._server.close()
        self.station.close()

    def _answer(self, guest):
        line = guest.line()
        if line:
            guest.requests.answer(line)
        streams = self._streams(guest)
        if guest.gone or guest.login.failed or guest.overdue(streams):
            self._dismiss(guest)
        elif guest.login.passed and guest is not self._guest:
            self._let_in(guest)

    def _accept(self):
        """Give a seat to a host that calls; while all are taken, it waits until a stranger's time is over."""
        if len(self._callers) == _SEATS:
            if self._callers[0].silent_ms() < _SEAT_MS:
                return
            self._dismiss(self._callers[0])
        try:
            connection = self._server.accept()[0]
        except OSError:
            return  # it closed the connection before it was accepted
        guest = Guest(connection, Login(self._key, self._board.uid))
        if self._guest is not None:
            _turn_away(guest)
            return
        guest.requests = Requests(self._board, self._streamer, guest, guest.login)
        self._callers.append(guest)

    def _let_in(self, guest):
        """Make a host that has logged in the one that is served, and turn the others away."""
        self._guest = guest
        callers, self._callers = self._callers, []
        for caller in callers:
            if caller is not guest:
                _turn_away(caller)

    def _streams(self, guest):
        return self._streamer.running and self._streamer.console is guest

    def _dismiss(self, guest):
        if self._streams(guest):
            self._streamer.stop()
        guest.close()
        if guest is self._guest:
            self._guest = None
        else:
            self._callers.remove(guest)


def _turn_away(guest):
    guest.send(messages.pack(messages.Err(0, "busy", "another host is connected over Wi-Fi")))
    guest.close()
