"""`hingeline virtual`: the virtual bench, from a terminal or a script."""

from __future__ import annotations

import json
import signal
import sys
import threading
from pathlib import Path
from typing import Any

import click

from hingeline.errors import HingelineError, Interrupted


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option("--stay", is_flag=True, help="Go on after the end of standard input, until interrupted.")
@click.option("--tcp", is_flag=True, help="Offer TCP ports (socket://) instead of pseudo-terminals.")
def virtual(scenario: Path, stay: bool, tcp: bool) -> int:
    """Sensors, table and aircraft without hardware.

    Runs the boards of SCENARIO and prints their ports, as JSON lines. Commands are JSON lines on standard
    input, such as {"do": "place", "sensor": "all", "face": "+z"}; each is answered when all has settled.
    docs/scenario.md has them all.
    """
    from hingeline.virtual.bench import Bench
    from hingeline.virtual.scenario import load_scenario

    def emit(event: dict[str, Any]) -> None:
        print(json.dumps(event), flush=True)

    def read(bench: Bench) -> None:
        for line in sys.stdin:
            if line.strip():
                bench.submit(line)
        if not stay:
            bench.submit(None)

    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with Bench(load_scenario(scenario), emit, tcp) as bench:
            threading.Thread(target=read, args=(bench,), daemon=True).start()
            bench.run()
    except HingelineError as problem:
        click.echo(f"hingeline: {problem}", err=True)
        return problem.exit_status
    except KeyboardInterrupt:
        return Interrupted.exit_status
    return 0
