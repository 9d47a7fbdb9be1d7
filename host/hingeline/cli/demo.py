"""`hingeline demo`: the whole job on the virtual bench."""

from __future__ import annotations

import click

from hingeline.cli.screen import Screen, command


@click.command()
@command
def demo(*, screen: Screen) -> int:
    """Do the whole job on two invented sensors and an invented glider.

    \b
    Example:
      hingeline demo

    Truth beside measurement at each step. Two sensors as bad as their datasheet allows run the real firmware;
    nothing is plugged in and nothing kept. Exit status 0 only if the stated interval of every measured value holds
    the truth.
    """
    import tempfile
    from pathlib import Path

    from hingeline.demo.job import REACH, SCENARIO, Job
    from hingeline.device.link.fleet import Fleet
    from hingeline.errors import OutOfTolerance
    from hingeline.storage.store import Store
    from hingeline_virtual.client import VirtualBench

    say = screen.say if screen.as_json else screen.data
    with (
        tempfile.TemporaryDirectory() as folder,
        VirtualBench(SCENARIO) as bench,
        Fleet(tuple(bench.ports.values())) as fleet,
    ):
        fleet.start()
        job = Job(bench, fleet, Store(Path(folder)), say)
        job.run()
    rows = job.ledger.rows
    agreeing = sum(row.agrees for row in rows)
    screen.data(
        f"\nEvery reading is within its tolerance. {agreeing} of {len(rows)} values agree with the truth within ±,\n"
        f"which is {REACH} standard uncertainties, so that all rows hold together with 99.9 %.",
        coverage_factor=REACH,
        rows=[row.to_dict() for row in rows],
        agrees=job.ledger.agrees,
    )
    return 0 if job.ledger.agrees else OutOfTolerance.exit_status
