"""What a sample line costs a board, beside formatting it by f-strings, on MicroPython's unix port in the same run."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

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


def table() -> None:
    """Print heap and speed of both."""
    told = costs()
    print(
        f"a sample line on MicroPython, words of {told['bits']} bits; our heap with the readings, time without"
    )
    print(f"{'':>10} {'heap, bytes':>12} {'lines/s':>9}")
    for name, prefix in (("ours", ""), ("f-strings", "f_string_")):
        print(f"{name:>10} {told[prefix + 'heap_bytes']:12.0f} {1e6 / told[prefix + 'line_us']:9.0f}")
