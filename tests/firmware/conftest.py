"""The real firmware on real MicroPython, behind a port of the virtual bench."""

from __future__ import annotations

import itertools
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from types import TracebackType
from typing import Any

import pytest
from tests import boards
from tests.firmware.installed import use_tables

from hingeline.device.link.ports import open_port
from hingeline_protocol.line import LineError, unseal
from hingeline_protocol.messages import TICKS_PERIOD_US, Err, Hello, MessageError, Ok, Sensor, pack, parse
from hingeline_virtual.client import VirtualBench

PATIENCE_S = 20.0
"""Wall time after which a message that should have come is given up, unless told."""
POLL_S = 0.2


@pytest.fixture(autouse=True)
def installed_tables(monkeypatch: pytest.MonkeyPatch) -> None:
    use_tables(monkeypatch)


class Clock:
    """The board's milliseconds, which a test moves on."""

    now_ms = 0


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """A board's functions of time, for the firmware on CPython."""
    clock = Clock()
    for name, function in (
        ("ticks_ms", lambda: clock.now_ms),
        ("ticks_us", lambda: 1000 * clock.now_ms),
        ("ticks_diff", lambda later, earlier: later - earlier),
        ("ticks_add", lambda ticks, more: ticks + more),
        ("sleep_ms", lambda _: None),
    ):
        monkeypatch.setattr(time, name, function, raising=False)
    return clock


class Wire:
    """One board's port, spoken to in messages.

    Attributes
    ----------
    log
        Every message received, in order.
    unsound
        Every line received that is no message: a prompt, a traceback, what is torn.
    """

    def __init__(self, port: str, patience_s: float = PATIENCE_S) -> None:
        self.port = open_port(port)
        self._patience_s = patience_s
        self.log: list[Any] = []
        self.unsound: list[bytes] = []
        self._requests = itertools.count(1)
        self._waiting: deque[Any] = deque()
        self._rest = b""

    def __enter__(self) -> Wire:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.port.close()

    def ask(self, message: type[Any], *fields: Any) -> list[Any]:
        """Send a request; return its details and, last, its `Ok` or `Err`."""
        number = next(self._requests)
        while self.port.wait(0):  # else the answer may be lost, as all is that finds no room
            self._receive()
        self.port.write(pack(message(number, *fields)))
        answers = []
        while True:
            got = self.next(lambda m: getattr(m, "request", None) == number)
            answers.append(got)
            if isinstance(got, Ok | Err):
                return answers

    def ask_sensors(self) -> list[Any]:
        """Ask the board to introduce itself; return its `Sensor`s."""
        return [answer for answer in self.ask(Hello, 1, 1) if isinstance(answer, Sensor)]

    def next(self, wanted: Callable[[Any], bool]) -> Any:
        """The next message that is wanted; those before it are in `log`."""
        end = time.monotonic() + self._patience_s
        while time.monotonic() < end:
            while self._waiting:
                message = self._waiting.popleft()
                if wanted(message):
                    return message
            self._receive()
        raise AssertionError(f"nothing wanted came; last: {self.log[-10:]}")

    def until(self, wanted: Callable[[list[Any]], bool], message: type[Any], *fields: Any) -> list[Any]:
        """Repeat a request until its answers are wanted: a board may lag behind the scene."""
        end = time.monotonic() + self._patience_s
        while not wanted(answers := self.ask(message, *fields)):
            assert time.monotonic() < end, f"never wanted: {answers}"
        return answers

    def take(self, kind: type[Any], count: int) -> list[Any]:
        """The next messages of a type."""
        return [self.next(lambda m: isinstance(m, kind)) for _ in range(count)]

    def _receive(self) -> None:
        received = self.port.read() if self.port.wait(POLL_S) else b""
        *lines, self._rest = (self._rest + received).split(b"\n")
        for line in lines:
            if line:
                self._take_in(line)

    def _take_in(self, line: bytes) -> None:
        try:
            message = parse(unseal(line))
        except (LineError, MessageError):
            self.unsound.append(line)
        else:
            self.log.append(message)
            self._waiting.append(message)


def of(sensor: int, samples: list[Any]) -> list[Any]:
    """The samples of one sensor."""
    return [sample for sample in samples if sample.sensor == sensor]


def gaps(samples: list[Any], line_us: int) -> tuple[list[int], list[float]]:
    """The steps of the sequence from line to line, and how far each is off the time that passed, in lines."""
    pairs = list(itertools.pairwise(samples))
    lines = [(b.sequence - a.sequence) % 65536 for a, b in pairs]
    passed_us = [(b.ticks_us - a.ticks_us) % TICKS_PERIOD_US for a, b in pairs]
    return lines, [step - us / line_us for step, us in zip(lines, passed_us, strict=True)]


Setup = tuple[VirtualBench, Wire]


@pytest.fixture(scope="module")
def connected(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., AbstractContextManager[Setup]]:
    """A context manager: a bench with one board of the given sensors (TOML), and the wire to it."""

    @contextmanager
    def run(sensors: str, head: str = "speed = 5", board: str = "") -> Iterator[Setup]:
        scenario = f'{head}\n[[boards]]\nname = "one"\n{board}\n{sensors}'
        with (
            boards.bench(tmp_path_factory.mktemp("bench"), scenario) as bench,
            Wire(bench.ports["one"]) as wire,
        ):
            yield bench, wire

    return run
