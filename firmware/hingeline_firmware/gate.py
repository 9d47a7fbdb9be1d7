"""Hosts over TCP: one at a time, let in by the key, disconnected when silent for too long."""

import select
import socket
from time import ticks_diff, ticks_ms

from hingeline_firmware.console import Console, any_ready, poll_of
from hingeline_firmware.login import Login
from hingeline_firmware.requests import Requests
from hingeline_firmware.wifi import Station
from hingeline_protocol import messages

TYPE_CHECKING = False  # MicroPython has no typing
if TYPE_CHECKING:
    from typing import Any

_LOGIN_MS = 5000
"""A host that has not logged in by then is disconnected."""
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
        self._connection = connection
        # A board's socket is a stream itself; CPython's isn't.
        stream = connection if hasattr(connection, "readinto") else connection.makefile("rwb", 0)
        Console.__init__(self, stream, stream)
        self.login = login
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
        limit_ms = _LOGIN_MS if not self.login.passed else _STALLED_MS if streams else _IDLE_MS
        return ticks_diff(ticks_ms(), self._alive_ms) > limit_ms

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
        self._requests: "Any" = None
        self.port = settings["port"]
        self.station = Station(settings["name"], settings["password"])
        self._server = socket.socket()
        self._server.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self._server.bind(socket.getaddrinfo("0.0.0.0", self.port)[0][-1])
        self._server.listen(1)
        self._server.setblocking(False)
        self._callers = poll_of(self._server, select.POLLIN)

    def step(self):
        """Accept a host that calls, and answer the one that is connected."""
        self.station.step()
        if any_ready(self._callers, select.POLLIN):
            self._accept()
        guest = self._guest
        if guest is not None:
            line = guest.line()
            if line:
                self._requests.answer(line)
            if guest.gone or guest.login.failed or guest.overdue(self._streams()):
                self._dismiss()

    def close(self):
        """Disconnect the host and leave the network."""
        if self._guest is not None:
            self._dismiss()
        self._server.close()
        self.station.close()

    def _accept(self):
        try:
            connection = self._server.accept()[0]
        except OSError:
            return  # it closed the connection before it was accepted
        guest = Guest(connection, Login(self._key))
        if self._guest is None:
            self._guest = guest
            self._requests = Requests(self._board, self._streamer, guest, guest.login)
        else:
            guest.send(messages.pack(messages.Err(0, "busy", "another host is connected over Wi-Fi")))
            guest.close()

    def _streams(self):
        return self._streamer.running and self._streamer.console is self._guest

    def _dismiss(self):
        if self._streams():
            self._streamer.stop()
        self._guest.close()
        self._guest = self._requests = None
