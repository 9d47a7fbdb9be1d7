"""What the commands that measure have in common: arguments and options, and the caution before a surface moves."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

import click

from hingeline.cli.command import Number, Option, command, port_option
from hingeline.cli.commands import MEASURE
from hingeline.cli.completing import sensors, sheet_argument, surface_argument
from hingeline.cli.screen import Screen
from hingeline.errors import UsageProblem
from hingeline.web.address import LOOPBACK

CAUTION = (
    "Propeller off or motor disconnected, gyro off, transmitter on first. Fingers clear of linkages. Tape each "
    "sensor with its edge along the hinge line, arrow to the trailing edge."
)


@dataclass(frozen=True)
class LiveOptions:
    """How a command shows what it measures: each option by its name; `page_capture` lets the page press keys."""

    plain: bool = False
    quiet: bool = False
    speak: bool = False
    page: bool = False
    page_on: str | None = None
    page_capture: bool = False

    @property
    def page_address(self) -> str | None:
        """Where the page is offered; None without a page."""
        return self.page_on or (LOOPBACK if self.page or self.page_capture else None)


@dataclass(frozen=True)
class Target:
    """What a command, of that name, measures on, and how.

    An empty surface stands for all, no ports for all boards that are found. `replay` is a recorded run to measure on
    again, `choices` is what else the command was told that decides how it goes.
    """

    command: str
    rig: Path
    surface: str
    ports: tuple[str, ...]
    replay: Path | None
    live: LiveOptions
    choices: dict[str, Any]


def measuring(
    *, section: str = MEASURE, fixed: bool = False, surface_required: bool = True
) -> Callable[[Callable[..., Any]], click.Command]:
    """Make a function a command that measures on a surface: it gets its `screen` and its `target`.

    With `fixed`, a sensor on a fixed part can take the model's motion out.
    """

    def decorate(function: Callable[..., Any]) -> click.Command:
        @functools.wraps(function)
        def run(screen: Screen, rig: Path, ports: tuple[str, ...], replay: Path | None, **choices: Any) -> Any:
            live = LiveOptions(**{option.name: choices.pop(option.name) for option in fields(LiveOptions)})
            surface = choices["surface"] or ""
            return function(screen, Target(function.__name__, rig, surface, ports, replay, live, choices))

        sides = (_side_option("left"), _side_option("right"), _middle_option)
        sensor_options = (*sides, *([_fixed_option] if fixed else []))
        surface = surface_argument(required=surface_required)
        return command(section, sheet_argument, surface, port_option, *sensor_options, *_RUN_OPTIONS)(run)

    return decorate


def limit_option(default: str, example: str) -> Option:
    """Give a command `--limit`; `default` says what holds without it. An example in degrees takes nothing else."""

    def check(context: click.Context, parameter: click.Parameter, value: str | None) -> str | None:
        if value is not None:
            from hingeline.procedures.surface import read_limit, read_limit_deg

            try:
                (read_limit_deg if example.endswith("deg") else read_limit)(value)
            except UsageProblem as problem:
                raise click.UsageError(str(problem), context) from problem
        return value

    text = f"Such as `{example}`. Default: {default}."
    return click.option("--limit", metavar="SIZE", callback=check, help=text)


def _side_option(side: str) -> Option:
    text = f"Sensor on the {side}, as seen from behind. Default: as `hingeline wiggle` found."
    return click.option(f"--{side}", metavar="SENSOR", shell_complete=sensors, help=text)


_middle_option = click.option(
    "--middle",
    metavar="SENSOR",
    shell_complete=sensors,
    help="Sensor on a surface in one piece, such as a rudder. Default: the first one.",
)
_fixed_option = click.option(
    "--fixed",
    metavar="SENSOR",
    shell_complete=sensors,
    help="A further sensor, taped on a fixed part with its edge square to the centre line and its arrow aft: it "
    "takes the model's own motion out.",
)
_RUN_OPTIONS = (
    click.option(
        "--replay",
        metavar="RUN",
        type=click.Path(path_type=Path),
        help="Measure again on a recorded run, its file or its session's folder; its calibrations and options hold.",
    ),
    click.option(
        "--hold",
        "hold_s",
        type=Number(0.3, 10),
        metavar="SECONDS",
        help="How long a reading must last. Default: 0.7 s.",
    ),
    click.option("--plain", is_flag=True, help="Lines instead of the large screen: for screen readers."),
    click.option("--quiet", is_flag=True, help="No tones, no bell."),
    click.option("--speak", is_flag=True, help="Say aloud what it asks for and what it took."),
    click.option("--page", is_flag=True, help="Show the same on a page for a browser on this computer."),
    click.option(
        "--page-on",
        metavar="ADDRESS",
        help="The page for the phones of the local network: this computer's address there.",
    ),
    click.option("--page-capture", is_flag=True, help="The page has keys: take, next, back, units."),
)
