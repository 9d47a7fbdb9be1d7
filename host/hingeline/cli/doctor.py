"""`hingeline doctor`: what is wrong between this computer and the sensors."""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

import click

from hingeline.cli.screen import Screen, command, port_option
from hingeline.units import counted

if TYPE_CHECKING:
    from hingeline.device.doctor.finding import Finding


@click.command()
@port_option
@command
def doctor(*, screen: Screen, ports: tuple[str, ...]) -> int:
    """Look for what is wrong between this computer and the sensors.

    \b
    Example:
      hingeline doctor --json

    Lay them on a table, let go, wait ten seconds. Versions, ports and permissions, firmware, chips and their
    self-test, lines lost on the cable, rate, temperature, noise. Exit status 0 if nothing is wrong, else that of
    the first trouble: 3 no board, 4 port busy or forbidden, 5 firmware, 7 a sensor.
    """
    from hingeline.device.doctor.examination import examine
    from hingeline.storage.keys import load_key
    from hingeline.storage.store import Store

    found = examine(ports, screen.say, partial(load_key, Store()))
    troubles = [one for one in found if one.exit_status]
    total = f"{counted(len(troubles), 'trouble')}, marked !" if troubles else "Nothing is wrong."
    screen.data(f"{_text(found)}\n{total}", findings=[asdict(one) for one in found], troubles=len(troubles))
    return troubles[0].exit_status if troubles else 0


def _text(found: list[Finding]) -> str:
    """Return a heading for each thing that was looked at, and below it what was found of it."""
    lines = []
    for about, findings in groupby(found, key=lambda one: one.about):
        lines.append(about)
        for one in findings:
            lines.append(f"{'!' if one.exit_status else ' '} {one.text}")
            lines += [f"    {one.cure}."] if one.cure else []
    return "\n".join(lines)
