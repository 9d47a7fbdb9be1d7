"""What the commands that look for faults on a surface share: their course, a limit to judge by, words, exit status."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.aircraft import CAUTION, replay_option, side_options, take_sides
from hingeline.cli.completing import sheet_argument, surface_argument
from hingeline.cli.live import LiveOptions, live_options
from hingeline.cli.screen import Screen, command, port_option
from hingeline.units import signed

if TYPE_CHECKING:
    from hingeline.checks.results import CheckResult, LimitResult
    from hingeline.cli.visit import Visit
    from hingeline.measure.capture import Readings
    from hingeline.measure.pipeline import Instrument
    from hingeline.rig.quantities import Measure
    from hingeline.rig.sheet import Sheet

    Measuring = Callable[[Visit, Sheet, str, tuple[Instrument, ...]], CheckResult]

_UNITS = {"deg": "°", "mm": " mm", "ratio": ""}


def surface_command(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command RIG and SURFACE, and what every command has that measures on one: what `examine` takes."""
    arguments = (surface_argument(), sheet_argument)
    for give in (command, live_options, replay_option, side_options, port_option, *arguments):
        function = give(function)
    return function


def examine(
    screen: Screen,
    name: str,
    measure: Measuring,
    *,
    live: LiveOptions,
    rig: Path,
    surface: str,
    ports: tuple[str, ...],
    replay: Path | None,
    **choices: Any,
) -> int:
    """Measure on a surface, record and print the result, and return the exit status.

    Raises
    ------
    HingelineError
        See `visit`, and what `measure` raises.
    """
    from dataclasses import replace

    from hingeline.cli.opening import visit
    from hingeline.rig import load_sheet

    sheet = load_sheet(rig)
    sheet.surface(surface)
    with visit(
        screen, ports, sheet.aircraft, name, replay, sheet=sheet, live=live, surface=surface, **choices
    ) as here:
        screen.say(CAUTION)
        result = measure(here, sheet, surface, take_sides(here, sheet, surface))
        result = replace(result, surface=surface)
        here.record_result(result)
    return _conclude(screen, f"{surface}, {name}", result)


def one_by_one(here: Visit, ask: Callable[[int], Readings], wanted: int) -> list[Readings]:
    """Return so many rests; `ask` asks for the one of a number, from 0, and returns it. The last can be taken back."""
    from hingeline.measure.capture import TakenBack

    taken: list[Readings] = []
    while len(taken) < wanted:
        try:
            taken.append(ask(len(taken)))
        except TakenBack:
            taken.pop()
        else:
            here.stage.took()
            here.takes_back.append(f"reading {len(taken)} of {wanted}")
    here.takes_back.clear()
    return taken


def limit_option(default: str, example: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command `--limit`; `default` says what holds without it."""
    return click.option("--limit", metavar="SIZE", help=f"Such as `{example}`. Default: {default}.")


def read_limit(text: str | None) -> Measure | None:
    """Return the limit that was given.

    Raises
    ------
    UsageProblem
        It is no tolerance.
    """
    from pydantic import TypeAdapter, ValidationError

    from hingeline.errors import UsageProblem
    from hingeline.rig.quantities import Tolerance

    if text is None:
        return None
    try:
        measure: Measure = TypeAdapter(Tolerance).validate_python(text)
    except ValidationError as problem:
        (wrong,) = problem.errors()
        raise UsageProblem(f"--limit {text!r}: expected {wrong['msg']}", "Write it as `0.5 deg`") from problem
    return measure


def read_limit_deg(text: str | None) -> float | None:
    """Return the limit in degrees that was given.

    Raises
    ------
    UsageProblem
        It is no tolerance, or one in mm.
    """
    from hingeline.errors import UsageProblem

    limit = read_limit(text)
    if limit is not None and limit.linear:
        raise UsageProblem(f"--limit {text!r}: expected degrees", "Write it as `0.5 deg`")
    return None if limit is None else limit.value


def _conclude(screen: Screen, title: str, result: CheckResult) -> int:
    from hingeline.checks.results import write_result
    from hingeline.errors import OutOfTolerance

    rows = [title, *(f"  {_text(each)}" for each in result.results), *(f"  {note}" for note in result.notes)]
    screen.data("\n".join(rows), **write_result(result))
    return 0 if result.inside else OutOfTolerance.exit_status


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
