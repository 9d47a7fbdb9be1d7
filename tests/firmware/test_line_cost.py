"""What a sample line may cost a board: 256 bytes of heap where a word has 32 bits, twice that where it has 64."""

import json
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_a_line_costs_little_heap_and_less_than_f_strings():
    run = subprocess.run(
        [Path(sys.executable).with_name("micropython"), Path(__file__).with_name("line_cost.py")],
        env={"MICROPYPATH": f"{ROOT / 'firmware'}:{ROOT / 'shared_protocol'}:.frozen"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=True,
    )
    told = json.loads(run.stderr)
    assert told["heap_bytes"] <= 256 * told["bits"] // 32
    assert told["heap_bytes"] < told["f_string_heap_bytes"]
