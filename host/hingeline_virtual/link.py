"""The bench's end of a board's transactions, of which board/wire.py is the other: its clock, sleep, buses."""

from __future__ import annotations

import math
import socket
import struct
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from hingeline_virtual.board import wire
from hingeline_virtual.bus import BusBlocks, BusError, Buses

_REQUEST = struct.Struct("<BBBBIq")
_ANSWER = struct.Struct("<IIq")
SLACK_US = 20_000
"""How far the scene may run ahead of a board that is at work, or is to wake up: where this machine keeps the bench from
its turn, the scene is late, and no board."""
_STALLED_S = 1.0
"""A board that is silent for this long by the wall clock stands still; the scene goes on without it."""


class _Request(NamedTuple):
    operation: int
    bus: int
    address: int
    register: int
    length: int
    data: bytes


def first_word(connection: socket.socket) -> int | None:
    """Return the number by which a program that has just connected calls itself; None if it is gone again."""
    word = connection.recv(_REQUEST.size, socket.MSG_WAITALL)
    return int(_REQUEST.unpack(word)[4]) if len(word) == _REQUEST.size else None


@dataclass
class BoardLink:
    """One board's running program, from its first word to its end. Times are of the scene, in µs.

    Attributes
    ----------
    prompt
        Called when the program is over, before the board's prompt begins.
    bites_us
        When its watchdog bites unless it is fed before; infinite until it is armed.
    """

    connection: socket.socket
    buses: Buses
    prompt: Callable[[], None]
    born_us: int = 0
    clock_us: int = 0
    asleep_until_us: int | None = None
    heard_s: float = 0.0
    bites_us: float = math.inf
    _received: bytearray = field(default_factory=bytearray)

    def start(self, now_us: int, wall_s: float) -> None:
        """Answer the program's first word: its clock starts."""
        self.born_us = self.clock_us = now_us
        self.heard_s = wall_s
        self._answer(now_us)

    def limit_us(self, wall_s: float, free: bool) -> float:
        """Return how far the scene may go before this board has done its part; `free` where nothing else paces it."""
        if self.asleep_until_us is not None:
            return self.asleep_until_us + (0 if free else SLACK_US)
        return self.bites_us if self._stalled(wall_s) else self.clock_us + SLACK_US

    def wake(self, now_us: int, wall_s: float) -> None:
        """Let the board go on if its sleep is over."""
        if self.asleep_until_us is not None and self.asleep_until_us <= now_us:
            self.asleep_until_us = None
            self.heard_s = wall_s
            self._answer(now_us)

    def bitten(self, now_us: int, wall_s: float) -> bool:
        """Return whether its watchdog bites: by the board's time, or the scene's where it stands still."""
        stands_still = self.asleep_until_us is None and self._stalled(wall_s)
        return self.bites_us <= (now_us if stands_still else self.clock_us)

    def _stalled(self, wall_s: float) -> bool:
        return wall_s - self.heard_s > _STALLED_S

    def serve(self, now_us: int, wall_s: float) -> bool:
        """Receive and carry out what the board asks; return whether it is still there."""
        try:
            received = self.connection.recv(4096)
        except OSError:
            return False
        self._received.extend(received)
        self.heard_s = wall_s
        while (request := self._request()) is not None:
            self._carry_out(now_us, request)
        return bool(received)

    def _request(self) -> _Request | None:
        if len(self._received) < _REQUEST.size:
            return None
        *head, length, board_us = _REQUEST.unpack_from(self._received)
        end = _REQUEST.size + (length if head[0] == wire.WRITE else 0)
        if len(self._received) < end:
            return None
        data = bytes(self._received[_REQUEST.size : end])
        del self._received[:end]
        self.clock_us = self.born_us + board_us
        return _Request(head[0], head[1], head[2], head[3], length, data)

    def _carry_out(self, now_us: int, request: _Request) -> None:
        operation, bus, address, register, length, data = request
        if operation == wire.SLEEP:
            self.asleep_until_us = self.clock_us
            self.wake(now_us, self.heard_s)
            return
        if operation == wire.PROMPT:
            self.prompt()
            self._answer(now_us)
            return
        if operation == wire.FEED:
            if self.clock_us < self.bites_us:
                self.bites_us = self.clock_us + 1000 * length
            return
        read = b""
        try:
            if operation == wire.READ:
                read = self.buses.read(bus, address, register, length, self.clock_us / 1e6)
            else:
                self.buses.write(bus, address, register, data, self.clock_us / 1e6)
        except BusError as error:
            self._answer(now_us, error.number)
        except BusBlocks:
            return  # who is not answered waits
        else:
            self._answer(now_us, 0, read)

    def _answer(self, now_us: int, error: int = 0, data: bytes = b"") -> None:
        frame = _ANSWER.pack(error, len(data), max(0, now_us - self.born_us)) + data
        try:
            self.connection.sendall(frame)
        except OSError:  # it is gone: the next receive says so
            return
