"""The running program of a board, as the bench serves it; its own side is on_board/transactions.py."""

from __future__ import annotations

import math
import socket
import struct
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from hingeline_virtual.buses import BusBlocks, BusError, Buses
from hingeline_virtual.on_board import transactions

_REQUEST = struct.Struct("<BBBBIq")
_ANSWER = struct.Struct("<IIq")
SLACK_US = 20_000
"""How far the scene may be ahead of a board that works or is about to wake up.

A busy machine may delay the bench: then the scene is late, and no board is.
"""
_STALLED_S = 1.0
"""A board that asks nothing for this long by the wall clock is stalled; the scene goes on without it."""


class _Request(NamedTuple):
    operation: int
    bus: int
    address: int
    register: int
    length: int
    data: bytes


def read_number(connection: socket.socket) -> int | None:
    """Read the number of a program that has just connected; None if it is gone again."""
    request = connection.recv(_REQUEST.size, socket.MSG_WAITALL)
    return int(_REQUEST.unpack(request)[4]) if len(request) == _REQUEST.size else None


@dataclass
class Program:
    """One board's running program, from its first request to its end. Times are of the scene, in µs.

    Attributes
    ----------
    on_prompt
        Called when the program is over, before the board's prompt begins.
    bites_us
        When its watchdog bites unless it is fed before; infinite until it is armed.
    """

    connection: socket.socket
    buses: Buses
    on_prompt: Callable[[], None]
    born_us: int = 0
    clock_us: int = 0
    asleep_until_us: int | None = None
    heard_s: float = 0.0
    bites_us: float = math.inf
    _received: bytearray = field(default_factory=bytearray)

    def start(self, now_us: int, wall_s: float) -> None:
        """Answer the program's first request: its clock starts."""
        self.born_us = self.clock_us = now_us
        self.heard_s = wall_s
        self._answer(now_us)

    def limit_us(self, wall_s: float, free: bool) -> float:
        """How far the scene may go before this board has done its part; `free` if no wall clock paces it."""
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
        """Whether its watchdog bites: by the board's time, or by the scene's if the board is stalled."""
        stalled = self.asleep_until_us is None and self._stalled(wall_s)
        return self.bites_us <= (now_us if stalled else self.clock_us)

    def _stalled(self, wall_s: float) -> bool:
        return wall_s - self.heard_s > _STALLED_S

    def serve(self, now_us: int, wall_s: float) -> bool:
        """Receive and carry out the board's requests; False once it is gone."""
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
        end = _REQUEST.size + (length if head[0] in (transactions.WRITE, transactions.EXCHANGE) else 0)
        if len(self._received) < end:
            return None
        data = bytes(self._received[_REQUEST.size : end])
        del self._received[:end]
        self.clock_us = self.born_us + board_us
        return _Request(head[0], head[1], head[2], head[3], length, data)

    def _carry_out(self, now_us: int, request: _Request) -> None:
        operation, bus, address, register, length, data = request
        if operation == transactions.SLEEP:
            self.asleep_until_us = self.clock_us
            self.wake(now_us, self.heard_s)
            return
        if operation == transactions.PROMPT:
            self.on_prompt()
            self._answer(now_us)
            return
        if operation == transactions.FEED:
            if self.clock_us < self.bites_us:
                self.bites_us = self.clock_us + 1000 * length
            return
        read = b""
        try:
            if operation == transactions.LEVEL:
                self.buses.check_level(bus, self.clock_us / 1e6)
            elif operation == transactions.FREE:
                self.buses.free(bus)
            elif operation == transactions.EXCHANGE:
                read = self.buses.exchange(bus, data, self.clock_us / 1e6)
            elif operation == transactions.READ:
                read = self.buses.read(bus, address, register, length, self.clock_us / 1e6)
            else:
                self.buses.write(bus, address, register, data, self.clock_us / 1e6)
        except BusError as error:
            self._answer(now_us, error.number)
        except BusBlocks:
            return  # without an answer the board waits for ever
        else:
            self._answer(now_us, 0, read)

    def _answer(self, now_us: int, error: int = 0, data: bytes = b"") -> None:
        frame = _ANSWER.pack(error, len(data), max(0, now_us - self.born_us)) + data
        try:
            self.connection.sendall(frame)
        except OSError:  # it is gone: the next `serve` notices
            return
