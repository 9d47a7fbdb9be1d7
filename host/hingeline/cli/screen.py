"""What every command shares: data on stdout, talk on stderr, `--json`, `--no-input`, errors with their exit status."""

from __future__ import annotations

import functools
import json
import math
import os
import shutil
import sys
import textwrap
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TextIO

import click

from hingeline.cli.completing import ports as offered_ports
from hingeline.errors import HingelineError, NotMeasurable, StoreError
from hingeline_calibration.errors import BadRecord, CalibrationError

SCHEMA_VERSION = 2
PIPE_CLOSED = 141
"""What a shell gives for a program that the end of its reader ended: 128 + SIGPIPE."""


class Number(click.FloatRange):
    """A number within a range; click's own takes `nan` for one."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        number: float = super().convert(value, param, ctx)
        if not math.isfinite(number):
            self.fail(f"{value} is not a finite number.", param, ctx)
        return number


@dataclass
class Screen:
    """Where a command speaks.

    Parameters
    ----------
    as_json
        Data is printed as JSON, one object a line.
    asks
        The user may be asked for a key; never true where standard input is no terminal.
    has_views
        Something else shows what passes.
    """

    as_json: bool
    asks: bool
    has_views: bool = False
    _held: list[tuple[str, TextIO]] | None = field(default=None, init=False)
    _owed: HingelineError | None = field(default=None, init=False)

    def say(self, text: str) -> None:
        """Talk: one line that stays."""
        if self._held is not None:
            self._held.append((text, sys.stderr))
            return
        self.passing("")
        tell(text, sys.stderr)

    def owe(self, problem: HingelineError) -> None:
        """End the command with this problem once all that was measured is told; the last one owed is told."""
        self._owed = problem

    def settle(self) -> None:
        """Raise what is owed, if anything is."""
        if self._owed is not None:
            raise self._owed

    def part(self, text: str) -> None:
        """Data that come bit by bit, for a reader now; their fields come with `data`.

        Where the data go elsewhere than to the terminal, or wait for the end, it is talk too.
        """
        if self.as_json:
            self.say(text)
            return
        if not sys.stdout.isatty():
            self.say(text)
            click.echo(text)
            return
        if self._held is not None:
            self._held.append((text, sys.stdout))
            return
        self.passing("")
        tell(text, sys.stdout)

    def hold(self) -> None:
        """Keep what is said until `release`: something else has the terminal now."""
        self._held = []

    def release(self) -> None:
        """Say what was kept."""
        held, self._held = self._held or [], None
        for text, stream in held:
            tell(text, stream)

    def passing(self, text: str) -> None:
        """Talk that the next line replaces; shown on a terminal only, where nothing else shows what passes."""
        if sys.stderr.isatty() and self._held is None and not self.has_views:
            width = shutil.get_terminal_size().columns
            click.echo(f"\r\x1b[K{text[: width - 1]}", err=True, nl=False)

    def data(self, text: str, **fields: Any) -> None:
        """Data: `text` for a reader, or `fields` as one JSON object with its `schema_version`."""
        self.passing("")
        if self.as_json:
            click.echo(json.dumps({"schema_version": SCHEMA_VERSION, **fields}, allow_nan=False))
        elif text:
            tell(text, sys.stdout)

    def enter(self, text: str) -> None:
        """Wait for the Enter key, where the user may be asked."""
        if self.asks:
            click.prompt(text, default="", show_default=False, prompt_suffix=" [Enter] ", err=True)


def tell(text: str, stream: TextIO) -> None:
    """Write a text as a line of its own, or as several on a terminal that it does not fit."""
    click.echo(folded(text, stream), stream)


def folded(text: str, stream: TextIO) -> str:
    """Break long lines between words for a terminal; a pipe gets the text as it is."""
    if not stream.isatty():
        return text
    width = shutil.get_terminal_size().columns
    return "\n".join(_fold(line, width) for line in text.split("\n"))


def _fold(line: str, width: int) -> str:
    deeper = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.fill(line, width, subsequent_indent=deeper, break_long_words=False, break_on_hyphens=False)


def command(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--json` and `--no-input`, its `screen`, and end it with the exit status of its error."""

    @click.option("--json", "as_json", is_flag=True, help="Data as JSON on standard output.")
    @click.option("--no-input", is_flag=True, help="Never ask for a key: stillness alone paces the work.")
    @functools.wraps(function)
    def run(*arguments: Any, as_json: bool, no_input: bool, **options: Any) -> Any:
        screen = Screen(as_json, asks=not no_input and sys.stdin.isatty())
        try:
            status = function(*arguments, screen=screen, **options)
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
            _fall_silent()
            return PIPE_CLOSED

    return run


def _fall_silent() -> None:
    """Let what is still to be written go nowhere: whoever read it has read enough, as `head` does."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def _exit_status(problem: HingelineError | CalibrationError) -> int:
    """Errors of the mathematics carry no exit status."""
    if isinstance(problem, HingelineError):
        return problem.exit_status
    return StoreError.exit_status if isinstance(problem, BadRecord) else NotMeasurable.exit_status


def port_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--port`, which may be repeated."""
    text = "A device, a pty or socket://host:port; repeat for several boards. Default: every board that is found."
    return _ports("ports", text)(function)


def cable_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command `--port` of boards whose files it changes; it may be repeated."""
    text = "A device, on its cable; repeat for several boards. Default: the one board that is found."
    return _ports("cables", text)(function)


def _ports(name: str, text: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    return click.option("--port", name, multiple=True, metavar="PORT", shell_complete=offered_ports, help=text)
