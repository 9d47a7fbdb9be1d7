"""Look for what is wrong between this computer and the sensors.

\b
Examples:
  hingeline doctor --json
  hingeline doctor --system

Lay them on a table, let go, wait ten seconds. Versions, ports and permissions, firmware, chips and their self-test,
lines lost on the cable, rate, temperature, noise. Exit status 0 if nothing is wrong, else that of the first trouble: 3
no board, 4 port busy or forbidden, 5 firmware, 7 a sensor. With --system it looks at this computer alone, and prints a
page without private data to paste into a report.
"""

from __future__ import annotations

import json
import tempfile
from dataclasses import asdict
from datetime import datetime
from functools import partial
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline import __version__
from hingeline.cli.command import command, port_option
from hingeline.cli.commands import FAULTS
from hingeline.cli.screen import Screen
from hingeline.storage.store import Store, default_root
from hingeline.units import counted

if TYPE_CHECKING:
    from hingeline.device.doctor.finding import Finding


@command(FAULTS, port_option)
@click.option("--system", "system", is_flag=True, help="Print a page about this computer for the maintainers.")
@click.option("--record", is_flag=True, help="Also write all figures into a dated file, to compare boards.")
def doctor(screen: Screen, ports: tuple[str, ...], system: bool, record: bool) -> int:
    if system:
        return _describe_system(screen)
    from hingeline.device.doctor.examination import examine
    from hingeline.storage.keys import load_key

    findings = examine(ports, screen.say, partial(load_key, Store()))
    if record:
        screen.say(f"Recorded in {_record(findings)}")
    troubles = [finding.exit_status for finding in findings if finding.exit_status]
    total = f"{counted(len(troubles), 'trouble')}, marked !" if troubles else "Nothing is wrong."
    screen.data(f"{_text(findings)}\n{total}", findings=list(map(asdict, findings)), troubles=len(troubles))
    return troubles[0] if troubles else 0


def _describe_system(screen: Screen) -> int:
    from hingeline.device.doctor.system import describe_system

    folders = {"what is kept": default_root(), "this terminal": Path.cwd(), "what passes": Path(tempfile.gettempdir())}
    rows = describe_system(folders)
    screen.data("\n".join(f"{name}: {text}" for name, text in rows.items()), system=rows)
    return 0


def _record(findings: list[Finding]) -> Path:
    """Write the findings with their figures into a new file in this folder, and tell its name."""
    from hingeline.files.whole import write_whole

    now = datetime.now()
    path = Path(f"hingeline-doctor-{now:%Y-%m-%d_%H-%M-%S}.json")
    content = {
        "date": now.astimezone().isoformat(timespec="seconds"),
        "hingeline": __version__,
        "findings": list(map(asdict, findings)),
    }
    write_whole(path, json.dumps(content, indent=1, ensure_ascii=False).encode(), elsewhere="Go to another folder")
    return path


def _text(findings: list[Finding]) -> str:
    """Write a heading for each thing that was examined, and its findings below it."""
    lines = []
    for about, group in groupby(findings, key=lambda finding: finding.about):
        lines.append(about)
        for finding in group:
            lines.append(f"{'!' if finding.exit_status else ' '} {finding.text}")
            lines += [f"    {finding.cure}."] if finding.cure else []
    return "\n".join(lines)
