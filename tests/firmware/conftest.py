"""The real firmware on real MicroPython, behind a pty of the virtual bench that pyserial opens."""

from __future__ import annotations

import itertools
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Any

import pytest
import serial

from hingeline.virtual.client import VirtualBench
from hingeline_protocol.line import unseal
from hingeline_protocol.messages import Err, Ok, pack, parse

PATIENCE_S = 20.0
"""Wall time after which a message that should have come is given up."""


class Wire:
    """One board's port, spoken to in messages.

    Attributes
    ----------
    log
        Every message received, in order.
    """

    def __init__(self, port: str) -> None:
        self.port = serial.serial_for_url(port, timeout=0.2)
        self.log: list[Any] = []
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
        self.port.write(pack(message(number, *fields)))
        answers = []
        while True:
            got = self.next(lambda m: getattr(m, "request", None) == number)
            answers.append(got)
            if isinstance(got, Ok | Err):
                return answers

    def next(self, wanted: Callable[[Any], bool]) -> Any:
        """Return the next message that is wanted; those before it are in `log`."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            while self._waiting:
                message = self._waiting.popleft()
                if wanted(message):
                    return message
            self._receive()
        raise AssertionError(f"nothing wanted came; last: {self.log[-10:]}")

    def take(self, kind: type[Any], count: int) -> list[Any]:
        """Return the next messages of a type."""
        return [self.next(lambda m: isinstance(m, kind)) for _ in range(count)]

    def _receive(self) -> None:
        *lines, self._rest = (self._rest + self.port.read(max(1, self.port.in_waiting))).split(b"\n")
        for line in lines:
            if line:
                message = parse(unseal(line))
                self.log.append(message)
                self._waiting.append(message)


Setup = tuple[VirtualBench, Wire]


@pytest.fixture
def connect(tmp_path: Path) -> Iterator[Callable[[str], Setup]]:
    """Return a function that starts a bench with one board of the given sensors (TOML) and opens its port."""
    with ExitStack() as stack:

        def start(sensors: str, head: str = "speed = 0", board: str = "") -> Setup:
            scenario = tmp_path / "scenario.toml"
            scenario.write_text(f'{head}\n[[boards]]\nname = "one"\n{board}\n{sensors}', encoding="utf-8")
            bench = stack.enter_context(VirtualBench(scenario))
            wire = stack.enter_context(Wire(bench.ports["one"]))
            return bench, wire

        yield start


def sensor(name: str, chip: str, **keys: Any) -> str:
    """Return a sensor of a scenario."""
    rows = [f"{key} = {value!r}" for key, value in {"name": name, "chip": chip, **keys}.items()]
    return "[[boards.sensors]]\n" + "\n".join(rows) + "\n"
