"""A virtual bench in a process of its own, for tests and the demo."""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any

from hingeline.errors import ScenarioError

_END_S = 10.0


class VirtualBench:
    """Runs `hingeline virtual` on a scenario while its `with` lasts.

    Attributes
    ----------
    ports
        Names of the ports, by board.
    boards
        The last `board` event of each, by name.

    Raises
    ------
    ScenarioError
        From any method: the bench refused a command, or has ended.
    """

    def __init__(self, scenario: Path, *options: str) -> None:
        self.boards: dict[str, dict[str, Any]] = {}
        self._numbers = itertools.count(1)
        self._answers: dict[int | None, dict[str, Any]] = {}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "hingeline", "virtual", str(scenario), *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def __enter__(self) -> VirtualBench:
        try:
            while self._next()["event"] != "ready":
                pass
        except BaseException:
            self.close()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def ports(self) -> dict[str, str]:
        """Names of the ports, by board."""
        return {name: board["port"] for name, board in self.boards.items()}

    def do(self, do: str, **keys: Any) -> dict[str, Any]:
        """Give a command and wait for its answer, which comes when all has settled."""
        return self.answer(self.begin(do, **keys))

    def begin(self, do: str, **keys: Any) -> int:
        """Give a command without waiting for it; return the number of its answer."""
        assert self._process.stdin is not None
        number = next(self._numbers)
        self._process.stdin.write(json.dumps({"id": number, "do": do, **keys}) + "\n")
        self._process.stdin.flush()
        return number

    def answer(self, number: int) -> dict[str, Any]:
        """Wait for the answer to a command."""
        while number not in self._answers:
            event = self._next()
            self._answers[event.get("id")] = event
        event = self._answers.pop(number)
        if event["event"] == "refused":
            raise ScenarioError(event["error"], event["cure"])
        return event

    def close(self) -> None:
        """End the bench and its boards.

        Where a signal ends a process at once, as on Windows, the end of its input ends the bench: it takes its boards
        and its folder with it.
        """
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        if sys.platform != "win32":
            self._process.terminate()
        with suppress(OSError):  # it has ended by itself
            self._process.stdin.close()
        try:
            self._process.wait(_END_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._process.stdout.close()

    def _next(self) -> dict[str, Any]:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        if not line:
            raise ScenarioError("the virtual bench has ended", "Its error is above")
        event: dict[str, Any] = json.loads(line)
        if event["event"] == "board":
            self.boards[event["board"]] = event
        return event
