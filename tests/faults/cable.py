"""A cable between a board's port and the host, which spoils what it carries and keeps the books of it."""

from __future__ import annotations

import os
import select
import threading
from collections import Counter, deque
from collections.abc import Callable
from random import Random
from time import monotonic
from typing import NamedTuple

from tests.posix import pty, tty

Spoil = Callable[[bytes], bytes]
Pace = Callable[[bytes], list[tuple[float, bytes]]]


def whole(line: bytes) -> bytes:
    """Hand a line on as it is."""
    return line


def at_once(data: bytes) -> list[tuple[float, bytes]]:
    """Hand bytes on in one piece without a wait."""
    return [(0.0, data)]


class Fault(NamedTuple):
    """Something that happens to so many lines after one another; `spoil` returns what comes of them."""

    lines: int
    spoil: Callable[..., bytes]


def _flip(rng: Random, line: bytes) -> bytes:
    return _changed(line, rng.randrange(len(line) - 1), 1 << rng.randrange(8))


def _burst(rng: Random, line: bytes) -> bytes:
    return _changed(line, rng.randrange(3, len(line) - 1), rng.randrange(1, 1 << 32))


def _changed(line: bytes, last: int, pattern: int) -> bytes:
    """Return a line with some bits turned over, those of the byte at `last` and before it."""
    turned = int.from_bytes(line, "big") ^ pattern << 8 * (len(line) - 1 - last)
    return turned.to_bytes(len(line), "big")


def _scatter(rng: Random, line: bytes) -> bytes:
    scattered = bytearray(line)
    for _ in range(rng.randrange(1, 6)):
        scattered[rng.randrange(len(line) - 1)] = rng.randrange(256)
    return bytes(scattered)


def _slip(rng: Random, line: bytes) -> bytes:
    at = rng.randrange(len(line) - 1)
    return line[:at] + line[at + 1 :]


def _stutter(rng: Random, line: bytes) -> bytes:
    at = rng.randrange(len(line) - 1)
    return line[: at + 1] + line[at:]


def _swap(rng: Random, line: bytes) -> bytes:
    at = rng.randrange(1, len(line) - 1)
    return line[: at - 1] + line[at : at + 1] + line[at - 1 : at] + line[at + 1 :]


def _splice(rng: Random, first: bytes, second: bytes) -> bytes:
    return first[: rng.randrange(1, len(first))] + second[rng.randrange(len(second)) :]


FAULTS = {
    "drop": Fault(1, lambda rng, line: b""),
    "flip": Fault(1, _flip),
    "burst": Fault(1, _burst),
    "scatter": Fault(1, _scatter),
    "slip": Fault(1, _slip),
    "stutter": Fault(1, _stutter),
    "swap": Fault(1, _swap),
    "duplicate": Fault(1, lambda rng, line: line + line),
    "tear": Fault(1, lambda rng, line: line[: rng.randrange(1, len(line) - 1)] + b"\n"),
    "splice": Fault(2, _splice),
    "glue": Fault(2, lambda rng, first, second: first[:-1] + second),
    "noise": Fault(1, lambda rng, line: rng.randbytes(rng.randrange(1, 80)) + b"\n" + line),
}
"""By name, what a wire does to lines. `burst` changes up to 32 bits in a row, which no CRC-32 lets pass."""


class Spoiler:
    """Draws faults for lines and counts what each line came to; its own books, no checksum.

    Attributes
    ----------
    share
        Of the lines, how many begin a fault.
    done
        How often each fault happened.
    passed
        The lines that came through whole, once each.
    lost, repeated, damaged
        Of sample lines, those that did not come through and the copies too many; all pieces that are no line
        of the board.
    """

    def __init__(self, seed: int, share: float, faults: tuple[str, ...] = tuple(FAULTS)) -> None:
        self.share = share
        self.done: Counter[str] = Counter()
        self.passed: list[bytes] = []
        self.lost = self.repeated = self.damaged = 0
        self._rng = Random(seed)
        self._faults = faults
        self._under_way = ""
        self._held: list[bytes] = []

    def __call__(self, line: bytes) -> bytes:
        """Return what comes of a line; of one that is held for the next, nothing yet."""
        if not self._held and (line == b"\n" or self._rng.random() >= self.share):
            self.passed.append(line)
            return line
        self._under_way = self._under_way or self._rng.choice(self._faults)
        self._held.append(line)
        fault = FAULTS[self._under_way]
        if len(self._held) < fault.lines:
            return b""
        out = fault.spoil(self._rng, *self._held)
        while b"\x03" in out:  # Ctrl-C: on every board it ends the program, since mpremote must get in
            out = fault.spoil(self._rng, *self._held)
        self._enter(out)
        return out

    def _enter(self, out: bytes) -> None:
        pieces = [piece + b"\n" for piece in out.split(b"\n") if piece.rstrip(b"\r")]
        for line in self._held:
            copies = pieces.count(line)
            self.passed += [line] * (copies > 0)
            self.damaged -= copies
            if line.startswith(b"s "):
                self.lost += copies == 0
                self.repeated += max(0, copies - 1)
        self.damaged += len(pieces)
        self.done[self._under_way] += 1
        self._under_way, self._held = "", []


class Cable:
    """A pty that leads to a port, and does to each line what it is told.

    Attributes
    ----------
    name
        The port to open.
    spoil, spoil_request
        Takes a line from the board, or from the host, line feed included, and returns the bytes to hand on.
    pace
        Cuts bytes for the host into pieces, each with the time in s that it, and so all behind it, is late at least.
    sent
        The lines that came from the board.
    """

    def __init__(self, port: str, spoil: Spoil = whole) -> None:
        self.spoil = spoil
        self.spoil_request: Spoil = whole
        self.pace: Pace = at_once
        self.sent: list[bytes] = []
        self._near, self._far = pty.openpty()
        self._board = os.open(port, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self._board)
        tty.setraw(self._far)
        self.name = os.ttyname(self._far)
        self._pending: deque[tuple[float, bytes]] = deque()
        self._rest = self._rest_of_request = b""
        self._end, self._ender = os.pipe()
        self._thread = threading.Thread(target=self._relay)
        self._thread.start()

    def __enter__(self) -> Cable:
        return self

    def __exit__(self, *exception: object) -> None:
        self.pull()

    def pull(self) -> None:
        """Hang up at both ends; the board goes on. Pulled once more, nothing happens."""
        if self._thread.is_alive():
            os.write(self._ender, b"e")
            self._thread.join()
            for descriptor in (self._board, self._near, self._far, self._end, self._ender):
                os.close(descriptor)

    def _relay(self) -> None:
        while True:
            wait_s = max(0.0, self._pending[0][0] - monotonic()) if self._pending else None
            ready, _, _ = select.select([self._board, self._near, self._end], [], [], wait_s)
            if self._end in ready:
                return
            if self._near in ready:
                *lines, self._rest_of_request = self._cut(self._rest_of_request, self._near)
                os.write(self._board, b"".join(self.spoil_request(line + b"\n") for line in lines))
            if self._board in ready:
                *lines, self._rest = self._cut(self._rest, self._board)
                self.sent += (line + b"\n" for line in lines)
                self._enqueue(b"".join(self.spoil(line + b"\n") for line in lines))
            while self._pending and self._pending[0][0] <= monotonic():
                os.write(self._near, self._pending.popleft()[1])

    @staticmethod
    def _cut(rest: bytes, descriptor: int) -> list[bytes]:
        return (rest + os.read(descriptor, 4096)).split(b"\n")

    def _enqueue(self, data: bytes) -> None:
        now_s = monotonic()
        due_s = self._pending[-1][0] if self._pending else now_s
        for wait_s, piece in self.pace(data) if data else ():
            due_s = max(due_s, now_s + wait_s)
            self._pending.append((due_s, piece))
