"""What is to be done at the bench: commands in their order, begun at scene times, answered when settled."""

from __future__ import annotations

import json
import math
from collections import deque
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from hingeline.errors import ScenarioError
from hingeline.rig.toml_problems import brief, dotted
from hingeline_virtual.commands import COMMAND, Command

LEAD_US = 20_000
"""A command is taken up so long before it begins: no board has seen what it changes."""


@dataclass
class Task:
    """A command and where it stands; `settled_us` is infinite until that is known."""

    number: Any
    command: Command
    began_us: int = 0
    settled_us: float = math.inf


class Agenda:
    """The order of commands. Scene times in µs."""

    def __init__(self, steps: list[Command]) -> None:
        self._coming = deque(Task(None, step) for step in steps)
        self._under_way: list[Task] = []
        self._former = Task(None, COMMAND.validate_python({"do": "truth"}), 0, 0)

    def add(self, number: Any, command: Command) -> None:
        """Take a command; `number` comes back with it."""
        self._coming.append(Task(number, command))

    @property
    def idle(self) -> bool:
        """Nothing is to be done or under way."""
        return not self._coming and not self._under_way

    @property
    def next_us(self) -> float:
        """When the next command must be taken up or is settled; infinite if that isn't known."""
        settled = [task.settled_us for task in self._under_way]
        return min([*settled, self._due_us - LEAD_US if self._coming else math.inf])

    @property
    def _due_us(self) -> float:
        after_s = self._coming[0].command.after_s
        return self._former.settled_us if after_s is None else self._former.began_us + after_s * 1e6

    def begin(self, now_us: int) -> Task | None:
        """Return the command to take up now, its beginning set, or None."""
        if not self._coming or self._due_us - LEAD_US > now_us:
            return None
        due_us = self._due_us
        task = self._coming.popleft()
        task.began_us = round(due_us) if due_us > now_us else now_us + LEAD_US
        self._former = task
        self._under_way.append(task)
        return task

    def drop(self, task: Task) -> None:
        """Forget a command that could not be carried out."""
        task.settled_us = task.began_us
        self._under_way.remove(task)

    def release(self, board: str, now_us: int) -> None:
        """Settle what waits for a board's program to begin."""
        for task in self._under_way:
            if math.isinf(task.settled_us) and getattr(task.command, "board", None) == board:
                task.settled_us = now_us

    def settled(self, now_us: int) -> list[Task]:
        """Return the commands that have settled, and forget them."""
        done = [task for task in self._under_way if task.settled_us <= now_us]
        self._under_way = [task for task in self._under_way if task.settled_us > now_us]
        return done


def parse_line(line: str) -> dict[str, Any]:
    """Return the object in a line of JSON.

    Raises
    ------
    ScenarioError
        It is something else.
    """
    try:
        fields = json.loads(line)
    except ValueError:
        fields = None
    if not isinstance(fields, dict):
        raise ScenarioError(f"not a JSON object: {brief(line.strip())}", 'Write {"do": "truth"}, for example')
    return fields


def parse_command(fields: dict[str, Any]) -> Command:
    """Return the command of an object.

    Raises
    ------
    ScenarioError
        It is no command; all that is wrong is told.
    """
    try:
        return COMMAND.validate_python(fields)
    except ValidationError as problem:
        told = [f"{brief(dotted(d['loc']))}: {d['msg']}" for d in problem.errors(include_url=False)]
        raise ScenarioError("; ".join(told), "docs/scenario.md lists every command and its keys") from problem
