"""Put the firmware on a board, or bring it up to date.

\b
Example:
  hingeline install --port /dev/ttyACM0 --name "left wing"

The board must run MicroPython already. hingeline copies only what differs and reads every file back; configuration and
calibrations on the board stay. If it is interrupted, repeat it. At the end it lists what answers on each bus, and how
to wire a sensor where nothing does.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import cable_option, command
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.errors import UsageProblem
from hingeline.units import counted
from hingeline_protocol.messages import NAME_LIMIT

if TYPE_CHECKING:
    from hingeline.device.install.installing import Installation


@command(SET_UP, cable_option)
@click.option(
    "--board",
    metavar="NAME",
    help="Pin map to keep. Default: as MicroPython names the board.",
)
@click.option("--name", metavar="TEXT", help="What to call the board: up to 32 characters of ASCII.")
@click.option(
    "--watchdog/--no-watchdog",
    default=None,
    help="A board that hangs while it streams restarts itself, and on Ctrl-C.",
)
@click.option("--sources", is_flag=True, help="Firmware as sources, to read and change; starts slower.")
def install(
    *,
    screen: Screen,
    cables: tuple[str, ...],
    board: str | None,
    name: str | None,
    watchdog: bool | None,
    sources: bool,
) -> None:
    from hingeline.device.install import configuration, installing

    if board is not None:
        configuration.read_pin_map(board)
    if name is not None and not (len(name) <= NAME_LIMIT and name.isascii() and (name + "_").isprintable()):
        raise UsageProblem(
            f"The name {name!r} can't be on the wire",
            f"Give it at most {NAME_LIMIT} letters, digits, blanks and signs of ASCII",
        )
    given = {"board": board, "name": name, "watchdog": watchdog}
    changes = {key: value for key, value in given.items() if value is not None}
    for port in cables or (installing.find_port(),):
        done = installing.install(port, screen.say, screen.passing, changes, sources=sources)
        text, fields = installing.describe_started(port, done.configuration["buses"])
        screen.data(f"{_done_text(done)}\n{text}", **asdict(done), **fields)


def _done_text(done: Installation) -> str:
    parts = [f"{counted(len(done.copied), 'file')} copied", f"{done.unchanged} were there already"]
    if done.removed:
        parts.append(f"{len(done.removed)} of an earlier version removed")
    if done.kept_main:
        parts.append("its own main.py kept as main-before-hingeline.py")
    return ", ".join(parts)
