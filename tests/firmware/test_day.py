"""A whole day on the firmware's own streamer: nothing lost, nothing twice, no heap used up."""

import itertools
import json
import subprocess
import sys
from pathlib import Path

from hingeline_protocol.line import unseal
from hingeline_protocol.messages import parse

ROOT = Path(__file__).parents[2]


def test_a_day_over_all_wraps_loses_and_doubles_nothing(tmp_path):
    # Into a file: of a pipe whose reader is slow the firmware would rightly drop lines.
    with (tmp_path / "lines").open("w+b") as lines:
        run = subprocess.run(
            [Path(sys.executable).with_name("micropython"), Path(__file__).with_name("day.py")],
            env={"MICROPYPATH": f"{ROOT / 'firmware'}:{ROOT / 'shared_protocol'}:.frozen"},
            stdin=subprocess.DEVNULL,
            stdout=lines,
            stderr=subprocess.PIPE,
            check=True,
        )
        lines.seek(0)
        samples = [parse(unseal(line)) for line in lines]
    told = json.loads(run.stderr)
    assert len(samples) == told["lines"] == 24 * 3600 * 2
    assert {(b.sequence - a.sequence) % (1 << 16) for a, b in itertools.pairwise(samples)} == {1}
    assert {(b.ticks_us - a.ticks_us) % (1 << 30) for a, b in itertools.pairwise(samples)} == {500_000}
    assert (told["late"], told["dropped"]) == (0, 0)
    assert told["last"] - told["first"] < 1024
