"""A command's run: opened live or from a recording, with its views, and its result said at the end.

This module loads the numerical stack: a command imports it when it is called, in its function.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from hingeline.checks.results import LimitResult, write_result
from hingeline.cli.options import CAUTION, Target
from hingeline.cli.screen import Screen
from hingeline.cli.views import open_views
from hingeline.errors import DamagedFile, OutOfTolerance
from hingeline.procedures.opening import open_boards, open_recording
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import seat_sensors
from hingeline.procedures.surface import Examination
from hingeline.rig import load_sheet
from hingeline.rig.sheet import Sheet
from hingeline.storage.sessions import TABLE
from hingeline.units import signed

__all__ = ["examine", "open_run", "open_table", "seat_sensors"]

_UNITS = {"deg": "°", "mm": " mm", "ratio": ""}


@contextmanager
def open_table(screen: Screen, ports: Sequence[str], command: str) -> Iterator[Runner]:
    """Open the boards for work on the table. Raises as `open_boards`."""
    with open_boards(
        screen,
        ports,
        TABLE,
        command,
        asks=screen.asks,
        views=lambda keys: open_views(screen, None, keys),
        enter=screen.enter,
        choices={},
    ) as runner:
        yield runner


@contextmanager
def open_run(screen: Screen, command: str, target: Target) -> Iterator[tuple[Runner, Sheet]]:
    """Open a run on an aircraft, live or recorded, with the caution that comes before anything moves.

    Raises
    ------
    HingelineError
        The sheet has something to fix, or has no such surface; see `open_boards` and `open_recording`.
    """
    sheet = load_sheet(target.rig)
    if target.surface:
        sheet.surface(target.surface)
    if target.replay is not None:
        runner = open_recording(screen, target.replay, sheet.aircraft, command, choices=target.choices, choose=_choose)
        runner.say(CAUTION)
        yield runner, sheet
        return
    with open_boards(
        screen,
        target.ports,
        sheet.aircraft,
        command,
        asks=screen.asks,
        views=lambda keys: open_views(screen, target.live, keys),
        enter=screen.enter,
        sheet=sheet,
        choices=target.choices,
    ) as runner:
        runner.say(CAUTION)
        yield runner, sheet


def examine(screen: Screen, command: str, target: Target, examination: type[Examination]) -> int:
    """Look for a fault on one surface: measure, record and print what it comes to, and give the exit status.

    Raises
    ------
    HingelineError
        See `open_run`, `seat_sensors` and `Runner.run`.
    """
    surface = target.surface or ""
    with open_run(screen, command, target) as (runner, sheet):
        instruments = seat_sensors(runner, sheet, surface)
        procedure = runner.run(examination.begin(sheet, surface, instruments, runner.choices))
        assert procedure.result is not None
        result = replace(procedure.result, surface=surface)
        if procedure.problem is not None:
            screen.owe(procedure.problem)
        runner.record_result(result)
    rows = [f"{surface}, {command}", *(f"  {_text(each)}" for each in result.results)]
    rows += [f"  {note}" for note in result.notes]
    screen.data("\n".join(rows), **write_result(result))
    return 0 if result.inside else OutOfTolerance.exit_status


def _choose(folder: Path, recorded: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    """The choices of a recording, as if they were typed now; those that it knows nothing of are as given now.

    Raises
    ------
    DamagedFile
        The command can't be told so.
    """
    context = click.get_current_context()
    options = {option.name: option for option in context.command.params}
    choices = dict(given)
    for name in recorded.keys() & given.keys():
        option, value = options[name], recorded[name]
        try:
            choices[name] = _default(option, context) if value is None else option.type(str(value), option, context)
        except click.BadParameter as problem:
            raise DamagedFile(
                f"{folder} has {name} = {str(value)[:40]!r}, which this command can't be told: {problem.message}",
                "Replay it as it was recorded",
            ) from problem
    return choices


def _default(option: click.Parameter, context: click.Context) -> Any:
    default = option.get_default(context)
    return default if isinstance(default, str | int | float) else None


def _text(result: LimitResult) -> str:
    unit = _UNITS[result.unit]
    limit = f"limit {result.limit:.2f}{unit}"
    if result.expected:
        limit = f"expected {result.expected:.2f} ±{result.limit:.2f}{unit}"
    word = "within" if result.inside else "BEYOND"
    close = ", but the limit is within the uncertainty" if result.close else ""
    line = f"{result.name:<44} {signed(result.value)}{unit} ±{result.reach:.2f}  {limit}  {word}{close}"
    if not result.candidates:
        return line
    return "\n".join([line, "    candidates:", *(f"      {cause}" for cause in result.candidates)])
