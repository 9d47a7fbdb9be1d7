"""What the commands that measure have in common: arguments and options, and the caution before a surface moves."""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from functools import reduce
from pathlib import Path
from typing import Any

import click

from hingeline.cli.completing import sensors, sheet_argument, surface_argument
from hingeline.cli.screen import Number, command, port_option
from hingeline.errors import UsageProblem
from hingeline.live.page.address import LOOPBACK

CAUTION = (
    "Propeller off or motor disconnected, gyro off, transmitter on first. Fingers clear of linkages. Tape each "
    "sensor with its edge along the hinge line, arrow to the trailing edge."
)


@dataclass(frozen=True)
class LiveOptions:
    """How a command shows what it measures.

    Attributes
    ----------
    plain
        Lines, even on a terminal that can do more.
    quiet, speak
        No sound; words too.
    page
        The address that the phone page is offered on; None without a page.
    page_capture
        Whether the page may press keys.
    """

    plain: bool = False
    quiet: bool = False
    speak: bool = False
    page: str | None = None
    page_capture: bool = False


@dataclass(frozen=True)
class Target:
    """What a command measures on, and how.

    Attributes
    ----------
    rig, surface
        The rigging sheet, and one of its surfaces; None for all.
    ports
        Of the boards; empty for all that are found.
    replay
        A recorded run to measure on again.
    live
        How it is shown.
    choices
        What else the command was told that decides how it goes.
    """

    rig: Path
    surface: str | None
    ports: tuple[str, ...]
    replay: Path | None
    live: LiveOptions
    choices: dict[str, Any]


def measuring(*, fixed: bool = False, surface_required: bool = True) -> Callable[[Any], Callable[..., Any]]:
    """Make a function a command that measures on a surface: it gets its `screen`, its `target`, and its own options.

    Parameters
    ----------
    fixed
        Whether a sensor on a fixed part can take the model's motion out.
    surface_required
        Whether one surface has to be named.
    """

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(function)
        def run(
            *,
            rig: Path,
            surface: str | None,
            ports: tuple[str, ...],
            replay: Path | None,
            live: LiveOptions,
            **options: Any,
        ) -> Any:
            choices = {name: value for name, value in options.items() if name != "screen"}
            target = Target(rig, surface, ports, replay, live, {**choices, "surface": surface})
            return function(target=target, **options)

        give: list[Callable[[Any], Any]] = [command, _live_options, _replay_option]
        give += [_fixed_option] if fixed else []
        give += [_side_options, port_option, surface_argument(required=surface_required), sheet_argument]
        return reduce(lambda made, decorator: decorator(made), give, run)

    return decorate


def limit_option(default: str, example: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Give a command `--limit`; `default` says what holds without it. An example in degrees takes nothing else."""

    def check(context: click.Context, parameter: click.Parameter, value: str | None) -> str | None:
        if value is not None:
            from hingeline.procedures.surface import read_limit, read_limit_deg

            try:
                (read_limit_deg if example.endswith("deg") else read_limit)(value)
            except UsageProblem as problem:
                raise click.BadParameter(str(problem), context, parameter) from problem
        return value

    text = f"Such as `{example}`. Default: {default}."
    return click.option("--limit", metavar="SIZE", callback=check, help=text)


def _side_options(function: Callable[..., Any]) -> Callable[..., Any]:
    for side in ("right", "left"):
        function = click.option(
            f"--{side}",
            metavar="SENSOR",
            shell_complete=sensors,
            help=f"Sensor on the {side}, as seen from behind. Default: as `hingeline wiggle` found.",
        )(function)
    return function


def _replay_option(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--replay",
        metavar="RUN",
        type=click.Path(path_type=Path),
        help="Measure again on a recorded run, its file or its session's folder; its calibrations and options hold.",
    )(function)


def _fixed_option(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--fixed",
        metavar="SENSOR",
        shell_complete=sensors,
        help="A further sensor, taped on a fixed part with its edge square to the centre line and its arrow aft: it "
        "takes the model's own motion out.",
    )(function)


def _live_options(function: Callable[..., Any]) -> Callable[..., Any]:
    @click.option(
        "--hold",
        "hold_s",
        type=Number(0.3, 10),
        metavar="SECONDS",
        help="How long a reading must last. Default: 0.7 s.",
    )
    @click.option("--plain", is_flag=True, help="Lines instead of the large screen: for screen readers.")
    @click.option("--quiet", is_flag=True, help="No tones, no bell.")
    @click.option("--speak", is_flag=True, help="Say aloud what is asked and what was taken.")
    @click.option("--page", is_flag=True, help="The same on a page of this computer, for a browser.")
    @click.option(
        "--page-on",
        metavar="ADDRESS",
        help="The page for the phones of the local network: this computer's address there.",
    )
    @click.option("--page-capture", is_flag=True, help="The page has keys: take, next, back, units.")
    @functools.wraps(function)
    def run(
        *,
        plain: bool,
        quiet: bool,
        speak: bool,
        page: bool,
        page_on: str | None,
        page_capture: bool,
        **options: Any,
    ) -> Any:
        address = page_on or (LOOPBACK if page or page_capture else None)
        return function(live=LiveOptions(plain, quiet, speak, address, page_capture), **options)

    return run
