"""What makes a function a command: its section of the help, `--json`, `--no-input`, errors with their exit status."""

from __future__ import annotations

import functools
import math
import sys
from collections.abc import Callable
from typing import Any, TypeVar

import click

from hingeline.cli.commands import SECTIONS
from hingeline.cli.completing import ports as offered_ports
from hingeline.cli.console import is_terminal
from hingeline.cli.screen import Screen, tell
from hingeline.cli.streams import fall_silent
from hingeline.errors import HingelineError, NotMeasurable, StoreError
from hingeline_calibration.errors import BadRecord, CalibrationError

PIPE_CLOSED = 141
"""What a shell gives for a program that the end of its reader ended: 128 + SIGPIPE."""
PORTS = "HINGELINE_PORT"
"""The variable of the environment that names ports, divided by spaces."""
C = TypeVar("C", bound=click.Command)
Option = Callable[[Any], Any]
"""Gives an option or an argument to a command, as `click.option` does."""

_json_option = click.option("--json", "as_json", is_flag=True, help="Data as JSON on standard output.")
_no_input_option = click.option("--no-input", is_flag=True, help="Never ask for a key: stillness alone paces the work.")


class Number(click.FloatRange):
    """A number within a range; click's own takes `nan` for one."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        number: float = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"{value} is not a finite number.", param, ctx)
        return number


def setting(names: str, kind: click.ParamType[Any], default: object, text: str, unit: str | None = None) -> Option:
    """An option with a default, which its help shows beside its unit; a name of its own in the program may follow."""
    return click.option(*names.split(), type=kind, default=default, show_default=True, metavar=unit, help=text)


class Command(click.Command):
    """A command whose help fits a screen: options that it shares with others are named, `hingeline help options` tells.

    `shared` are their names in the program.
    """

    shared: frozenset[str | None] = frozenset()

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        options = [each for each in self.params if isinstance(each, click.Option) and each.name not in self.shared]
        records = [record for each in options if (record := each.get_help_record(ctx))]
        if records:
            with formatter.section("Options"):
                formatter.write_dl(records)
        names = [each.opts[-1] for each in self.params if each.name in self.shared]
        if names:
            formatter.write_paragraph()
            with formatter.indentation():
                formatter.write_text(f"See `hingeline help options`: {' '.join(names)}")


def in_section(section: str) -> Callable[[C], C]:
    """List a command or a group in a section of the help."""

    def add(made: C) -> C:
        SECTIONS[section][made.name or ""] = made
        return made

    return add


def command(section: str, *shared: Option) -> Callable[[Callable[..., Any]], click.Command]:
    """Make a function a command in a section of the help; it gets its `screen`, and its module's docstring is its help.

    The options that it shares with others, with `--json` and `--no-input`, are listed after its own.
    """

    def decorate(function: Callable[..., Any]) -> click.Command:
        made = click.command(cls=Command, help=sys.modules[function.__module__].__doc__)(_give_screen(function))
        return in_section(section)(_give(made, *shared))

    return decorate


def subcommand(group: click.Group, name: str, *shared: Option, **settings: Any) -> Callable[..., click.Command]:
    """Make a function a command of a group, as `command` does; its own docstring is its help."""
    return lambda function: _give(group.command(name, cls=Command, **settings)(_give_screen(function)), *shared)


def _give(made: click.Command, *shared: Option) -> click.Command:
    assert isinstance(made, Command)
    own = {each.name for each in made.params}
    for give in (*shared, _json_option, _no_input_option):
        give(made)
    made.shared = frozenset(each.name for each in made.params if isinstance(each, click.Option)) - own
    return made


def _give_screen(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a function its `screen`, and end the command with the exit status of its error."""

    @functools.wraps(function)
    def run(as_json: bool, no_input: bool, **options: Any) -> int:
        screen = Screen(as_json, asks=not no_input and is_terminal(sys.stdin))
        try:
            status: int = function(screen=screen, **options) or 0
            screen.settle()
            return status
        except (HingelineError, CalibrationError) as problem:
            status = _exit_status(problem)
            screen.passing("")
            if as_json:
                screen.data("", error=problem.message, cure=problem.cure, exit_status=status)
            tell(f"hingeline: {problem}", sys.stderr)
            return status
        except BrokenPipeError:
            fall_silent(sys.stdout, sys.stderr)  # whoever read it has read enough, as `head` does
            return PIPE_CLOSED

    return run


def _exit_status(problem: HingelineError | CalibrationError) -> int:
    """Errors of the mathematics carry no exit status."""
    if isinstance(problem, HingelineError):
        return problem.exit_status
    return StoreError.exit_status if isinstance(problem, BadRecord) else NotMeasurable.exit_status


def _port_option(name: str, text: str) -> Option:
    return click.option(
        "--port", name, multiple=True, metavar="PORT", envvar=PORTS, shell_complete=offered_ports, help=text
    )


port_option = _port_option(
    "ports", "A device, a pty or socket://host:port; repeat for several boards. Default: every board that is found."
)
cable_option = _port_option(
    "cables", "A device, on its cable; repeat for several boards. Default: the one board that is found."
)
"""For a command that changes the files of boards."""
