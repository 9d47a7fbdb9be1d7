"""`hingeline virtual`: the virtual bench, from a terminal or a script."""

from __future__ import annotations

import json
import signal
import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hingeline.cli.screen import Screen, command
from hingeline.errors import Interrupted

if TYPE_CHECKING:
    from hingeline_virtual.bench import Bench


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--stay", is_flag=True, help="Go on after the end of standard input, until interrupted.")
@click.option("--tcp", is_flag=True, help="Offer TCP ports (socket://) instead of pseudo-terminals.")
@command
def virtual(screen: Screen, scenario: Path, stay: bool, tcp: bool) -> int:
    """Offer sensors, table and aircraft without hardware.

    \b
    Example:
      hingeline virtual bench.toml --stay

    Runs the boards of SCENARIO and prints their ports, as JSON lines. Commands are JSON lines on standard
    input, such as {"do": "place", "sensor": "all", "face": "+z"}; each is answered when all has settled.
    docs/scenario.md has them all.
    """
    from hingeline_virtual.bench import Bench
    from hingeline_virtual.scenario import load_scenario

    for ending in (
        "SIGTERM",
        "SIGHUP",
    ):  # the latter of a closed terminal; not on Windows, and ignored under nohup
        how = getattr(signal, ending, None)
        if how is not None and signal.getsignal(how) == signal.SIG_DFL:
            signal.signal(how, signal.default_int_handler)
    try:
        with Bench(load_scenario(scenario), _emit, tcp) as bench:
            threading.Thread(target=_read, args=(bench, stay), daemon=True).start()
            bench.run()
    except KeyboardInterrupt:
        return Interrupted.exit_status
    return 0


def _emit(event: dict[str, Any]) -> None:
    click.echo(json.dumps(event))


def _read(bench: Bench, stay: bool) -> None:
    for line in sys.stdin:
        if line.strip():
            bench.submit(line)
    if not stay:
        bench.submit(None)
