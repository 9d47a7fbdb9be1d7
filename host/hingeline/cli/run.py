"""A command's run: opened live or from a recording, with its views, and its result said at the end.

This module loads the numerical stack: a command imports it when it is called, in its function.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from hingeline.checks.results import LimitResult, write_result
from hingeline.cli.options import CAUTION, LiveOptions, Target
from hingeline.cli.screen import Screen
from hingeline.cli.views import open_views
from hingeline.device.samples import SensorInfo
from hingeline.errors import DamagedFile
from hingeline.procedures.opening import open_boards, open_recording
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import choose_instruments, seat_sensors
from hingeline.procedures.surface import Examination
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline.rig.sheet import Sheet
from hingeline.storage.sessions import TABLE
from hingeline.storage.store import Store
from hingeline.units import UNITS, signed

__all__ = ["examine", "open_run", "open_table", "seat_sensors"]


def open_table(screen: Screen, ports: Sequence[str], command: str) -> AbstractContextManager[Runner]:
    """Open the boards for work on the table. Raises as `open_boards`."""
    return _open(screen, ports, TABLE, command, live=None, choices={})


@contextmanager
def open_run(screen: Screen, target: Target) -> Iterator[tuple[Runner, Sheet]]:
    """Open a run on an aircraft, live or recorded, with the caution that comes before anything moves.

    Raises `HingelineError` before anything is said or recorded (the sheet has something to fix, or has no such surface,
    or the sensors won't do for it), and as `open_boards` and `open_recording`.
    """
    sheet, choices = load_sheet(target.rig), target.choices
    of_sides = sheet.surface(target.surface).sides if target.surface else [side for side in BOTH if choices[side]]
    run = (sheet.aircraft, target.command)

    def check(sensors: Mapping[str, SensorInfo]) -> None:
        choose_instruments(Store(), sensors, of_sides, choices)

    with (
        _open(screen, target.ports, *run, live=target.live, sheet=sheet, choices=choices, check=check)
        if target.replay is None
        else nullcontext(open_recording(screen, target.replay, *run, choices=choices, choose=_choose))
    ) as runner:
        runner.say(CAUTION)
        yield runner, sheet


def _open(
    screen: Screen, ports: Sequence[str], aircraft: str, command: str, *, live: LiveOptions | None, **options: Any
) -> AbstractContextManager[Runner]:
    return open_boards(
        screen,
        ports,
        aircraft,
        command,
        asks=screen.asks,
        views=lambda keys: open_views(screen, live, keys),
        enter=screen.enter,
        **options,
    )


def examine(screen: Screen, target: Target, examination: type[Examination]) -> int:
    """Look for a fault on one surface: measure, record and print what it comes to, and give the exit status.

    Raises as `open_run`, `seat_sensors` and `Runner.run`.
    """
    surface = target.surface
    with open_run(screen, target) as (runner, sheet):
        instruments = seat_sensors(runner, sheet, surface)
        procedure = runner.run(examination.begin(sheet, surface, instruments, runner.choices))
        assert procedure.result is not None
        result = replace(procedure.result, surface=surface)
        if procedure.problem is not None:
            screen.owe(procedure.problem)
        runner.record_result(result)
    rows = [f"{surface}, {target.command}", *map(_text, result.results), *result.notes]
    return screen.verdict("\n  ".join(rows), **write_result(result))


def _choose(folder: Path, recorded: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, Any]:
    """The choices of a recording, as if they were typed now; those that it knows nothing of are as given now.

    Raises `DamagedFile` (the command can't take such a choice).
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
                f"{folder} has {name} = {str(value)[:40]!r}, which this command can't use: {problem.message}",
                "Replay it as it was recorded",
            ) from problem
    return choices


def _default(option: click.Parameter, context: click.Context) -> Any:
    default = option.get_default(context)
    return default if isinstance(default, str | int | float) else None


def _text(result: LimitResult) -> str:
    unit = UNITS.get(result.unit, "")
    limit = f"limit {result.limit:.2f}{unit}"
    if result.expected:
        limit = f"expected {result.expected:.2f} ±{result.limit:.2f}{unit}"
    word = "within" if result.inside else "BEYOND"
    close = ", but the limit is within the uncertainty" if result.close else ""
    line = f"{result.name:<44} {signed(result.value)}{unit} ±{result.reach:.2f}  {limit}  {word}{close}"
    candidates = [f"      {cause}" for cause in result.candidates]
    return "\n".join([line, *(["    candidates:", *candidates] if candidates else [])])
