"""What a sample line costs a board, beside formatting it by f-strings, on MicroPython's unix port in the same run."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.bench.rows import Row

ROOT = Path(__file__).parents[2]


def costs() -> dict[str, float]:
    """Return what `tests/firmware/line_cost.py` tells, run by the real MicroPython."""
    run = subprocess.run(
        [Path(sys.executable).with_name("micropython"), ROOT / "tests/firmware/line_cost.py"],
        env={"MICROPYPATH": f"{ROOT / 'firmware'}:{ROOT / 'shared_protocol'}:.frozen"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=True,
    )
    told: dict[str, float] = json.loads(run.stderr)
    return told


def rows() -> list[Row]:
    """Return heap and speed of both; our heap is with the readings of the line, the time without."""
    told = costs()
    words = f"MicroPython, words of {told['bits']:.0f} bits"
    return [
        Row(
            f"firmware, heap of a line: {words}",
            told["heap_bytes"],
            "bytes",
            "f-strings",
            told["f_string_heap_bytes"],
            at_most=1.0,
        ),
        Row(
            f"firmware, lines: {words}",
            1e6 / told["line_us"],
            "lines/s",
            "f-strings",
            1e6 / told["f_string_line_us"],
            at_least=1.0,
        ),
    ]
