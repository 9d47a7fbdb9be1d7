"""The order of commands: each begins at its scene time and is answered once it has settled."""

from __future__ import annotations

import json
import math
from collections import deque
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from hingeline.errors import ScenarioError
from hingeline.rig.toml_mistakes import brief, dotted
from hingeline_virtual.commands import COMMAND, Command

LEAD_US = 20_000
"""A command is carried out so long before it begins: no board has measured then what it changes."""


@dataclass
class Task:
    """A command and its times; `settled_us` is infinite until it is known."""

    number: Any
    command: Command
    began_us: int = 0
    settled_us: float = math.inf


class Schedule:
    """The commands to come and those under way. Scene times in µs."""

    def __init__(self, steps: list[Command]) -> None:
        self._coming = deque(Task(None, step) for step in steps)
        self._under_way: list[Task] = []
        self._former = Task(None, COMMAND.validate_python({"do": "truth"}), 0, 0)

    def add(self, number: Any, command: Command) -> None:
        """Add a command; `number` comes back with its answer."""
        self._coming.append(Task(number, command))

    @property
    def idle(self) -> bool:
        """No command is to come or under way."""
        return not self._coming and not self._under_way

    @property
    def next_us(self) -> float:
        """When the next command is due or settled; infinite if that isn't known."""
        settled = [task.settled_us for task in self._under_way]
        return min([*settled, self._due_us - LEAD_US if self._coming else math.inf])

    @property
    def _due_us(self) -> float:
        after_s = self._coming[0].command.after_s
        return self._former.settled_us if after_s is None else self._former.began_us + after_s * 1e6

    def take_due(self, now_us: int) -> Task | None:
        """Take the command to carry out now, its beginning set; None if none is due."""
        if not self._coming or self._due_us - LEAD_US > now_us:
            return None
        due_us = self._due_us
        task = self._coming.popleft()
        task.began_us = round(due_us) if due_us > now_us else now_us + LEAD_US
        self._former = task
        self._under_way.append(task)
        return task

    def drop(self, task: Task) -> None:
        """Drop a command that could not be carried out."""
        task.settled_us = task.began_us
        self._under_way.remove(task)

    def release(self, board: str, now_us: int) -> None:
        """Settle the commands that wait for a board's program to begin."""
        for task in self._under_way:
            if math.isinf(task.settled_us) and getattr(task.command, "board", None) == board:
                task.settled_us = now_us

    def take_settled(self, now_us: int) -> list[Task]:
        """Take the commands that have settled off the schedule."""
        done = [task for task in self._under_way if task.settled_us <= now_us]
        self._under_way = [task for task in self._under_way if task.settled_us > now_us]
        return done


def parse_line(line: str) -> dict[str, Any]:
    """Read a line of JSON with an object; raises `ScenarioError` if it is none."""
    try:
        fields = json.loads(line)
    except ValueError:
        fields = None
    if not isinstance(fields, dict):
        raise ScenarioError(f"not a JSON object: {brief(line.strip())}", 'Write {"do": "truth"}, for example')
    return fields


def parse_command(fields: dict[str, Any]) -> Command:
    """Read the command in an object; raises `ScenarioError` with all its problems if it is none."""
    try:
        return COMMAND.validate_python(fields)
    except ValidationError as problem:
        problems = [f"{brief(dotted(d['loc']))}: {d['msg']}" for d in problem.errors(include_url=False)]
        raise ScenarioError("; ".join(problems), "docs/scenario.md lists every command and its keys") from problem
