"""Look for what is wrong between this computer and the sensors.

\b
Example:
  hingeline doctor --json

Lay them on a table, let go, wait ten seconds. Versions, ports and permissions, firmware, chips and their
self-test, lines lost on the cable, rate, temperature, noise. Exit status 0 if nothing is wrong, else that of
the first trouble: 3 no board, 4 port busy or forbidden, 5 firmware, 7 a sensor.
"""

from __future__ import annotations

from dataclasses import asdict
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

from hingeline.cli.command import command, port_option
from hingeline.cli.screen import Screen
from hingeline.storage.store import Store
from hingeline.units import counted

if TYPE_CHECKING:
    from hingeline.device.doctor.finding import Finding


@command("Boards", port_option)
def doctor(screen: Screen, ports: tuple[str, ...]) -> int:
    from hingeline.device.doctor.examination import examine
    from hingeline.storage.keys import load_key

    findings = examine(ports, screen.say, partial(load_key, Store()))
    troubles = [finding.exit_status for finding in findings if finding.exit_status]
    total = f"{counted(len(troubles), 'trouble')}, marked !" if troubles else "Nothing is wrong."
    screen.data(f"{_text(findings)}\n{total}", findings=list(map(asdict, findings)), troubles=len(troubles))
    return troubles[0] if troubles else 0


def _text(findings: list[Finding]) -> str:
    """Write a heading for each thing that was examined, and its findings below it."""
    lines = []
    for about, group in groupby(findings, key=lambda finding: finding.about):
        lines.append(about)
        for finding in group:
            lines.append(f"{'!' if finding.exit_status else ' '} {finding.text}")
            lines += [f"    {finding.cure}."] if finding.cure else []
    return "\n".join(lines)
