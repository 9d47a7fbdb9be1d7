"""Run boards, table and aircraft without hardware.

\b
Example:
  hingeline virtual bench.toml --stay

Runs the boards of SCENARIO and prints their ports as JSON lines. Give commands as JSON lines on standard input, such as
{"do": "place", "sensor": "all", "face": "+z"}. It answers each once everything has settled. docs/scenario.md lists
them.
"""

from __future__ import annotations

import json
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hingeline.cli.command import command
from hingeline.cli.commands import SET_UP
from hingeline.cli.screen import Screen
from hingeline.errors import Interrupted

if TYPE_CHECKING:
    from hingeline_virtual.bench import Bench


@command(SET_UP)
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--stay", is_flag=True, help="Keep running after the end of standard input, until interrupted.")
@click.option("--tcp", is_flag=True, help="Offer TCP ports (socket://) instead of pseudo-terminals.")
def virtual(screen: Screen, scenario: Path, stay: bool, tcp: bool) -> int:
    from hingeline_virtual.bench import Bench
    from hingeline_virtual.scenario_file import load_scenario

    try:
        with Bench(load_scenario(scenario), lambda event: click.echo(json.dumps(event)), tcp) as bench:
            threading.Thread(target=_submit_lines, args=(bench, stay), daemon=True).start()
            bench.run()
    except KeyboardInterrupt:
        return Interrupted.exit_status
    return 0


def _submit_lines(bench: Bench, stay: bool) -> None:
    for line in sys.stdin:
        if line.strip():
            bench.submit(line)
    if not stay:
        bench.submit(None)
