"""Where a command speaks: data on stdout, talk on stderr, as JSON where that is asked for."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from dataclasses import dataclass, field
from typing import Any, TextIO

import click

from hingeline.cli.console import is_terminal
from hingeline.errors import HingelineError, OutOfTolerance
from hingeline.units import printable

SCHEMA_VERSION = 2


@dataclass
class Screen:
    """Where a command speaks.

    With `as_json`, data are printed as JSON, one object a line. `asks` tells whether the user may be asked for a key:
    never where standard input is no terminal. `has_views` tells that something else shows what passes.
    """

    as_json: bool
    asks: bool
    has_views: bool = False
    _held: list[tuple[str, TextIO]] | None = field(default=None, init=False)
    _owed: HingelineError | None = field(default=None, init=False)

    def say(self, text: str) -> None:
        """Talk: one line that stays."""
        self._tell(text, sys.stderr)

    def _tell(self, text: str, stream: TextIO) -> None:
        if self._held is not None:
            self._held.append((text, stream))
            return
        self.passing("")
        tell(text, stream)

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
        if is_terminal(sys.stdout) and not self.as_json:
            self._tell(text, sys.stdout)
            return
        self.say(text)
        if not self.as_json:
            click.echo(_lines(text))

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
        if is_terminal(sys.stderr) and self._held is None and not self.has_views:
            width = shutil.get_terminal_size().columns
            click.echo(f"\r\x1b[K{printable(text[: width - 1])}", err=True, nl=False)

    def data(self, text: str, **fields: Any) -> None:
        """Data: `text` for a reader, or `fields` as one JSON object with its `schema_version`."""
        self.passing("")
        if self.as_json:
            click.echo(json.dumps({"schema_version": SCHEMA_VERSION, **fields}, allow_nan=False))
        elif text:
            tell(text, sys.stdout)

    def verdict(self, text: str, *, inside: bool, **fields: Any) -> int:
        """Data that are within the tolerance or not, and the exit status that says so."""
        self.data(text, **fields, inside=inside)
        return 0 if inside else OutOfTolerance.exit_status

    def enter(self, text: str) -> None:
        """Wait for the Enter key, where the user may be asked."""
        if self.asks:
            click.prompt(text, default="", show_default=False, prompt_suffix=" [Enter] ", err=True)


def tell(text: str, stream: TextIO) -> None:
    """Write a text as a line of its own, or as several on a terminal that it does not fit; it can't steer that."""
    click.echo(folded(_lines(text), stream), stream)


def _lines(text: str) -> str:
    return "\n".join(map(printable, text.split("\n")))


def folded(text: str, stream: TextIO) -> str:
    """Break long lines between words for a terminal; a pipe gets the text as it is."""
    if not is_terminal(stream):
        return text
    width = shutil.get_terminal_size().columns
    return "\n".join(_fold(line, width) for line in text.split("\n"))


def _fold(line: str, width: int) -> str:
    deeper = " " * (len(line) - len(line.lstrip()) + 2)
    return textwrap.fill(line, width, subsequent_indent=deeper, break_long_words=False, break_on_hyphens=False)
