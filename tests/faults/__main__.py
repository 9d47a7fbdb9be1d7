"""Tries every fault of a sensor, and writes docs/faults.md from what came of it."""

from __future__ import annotations

import os
import platform
import re
from datetime import date
from pathlib import Path

from tests.faults.sensor_bench import Result, run
from tests.faults.sensors import TRIALS

PAGE = Path(__file__).parents[2] / "docs" / "faults.md"
HEADS = ("fault of the left sensor", "during", "told after, s", "off, °", "stated, °", "verdict", "what is said")


def main() -> None:
    """Try all, and say of each what came."""
    results = []
    for trial in TRIALS:
        results.append(run(trial))
        print("  ".join(_cells(results[-1])), "" if results[-1].held else "NOT AS EXPECTED", flush=True)
    PAGE.write_text(_page(results), encoding="utf-8")


def _cells(result: Result) -> tuple[str, ...]:
    trial = result.trial
    off = "" if result.error_deg is None else f"{result.error_deg:+.2f}"
    stated = "" if result.reach_deg is None else f"±{result.reach_deg:.2f}"
    after = "" if result.after_s is None else f"{result.after_s:.1f}"
    said = re.sub(r"\S+/(?=bench )", "", result.message)
    return trial.fault, trial.command[0], after, off, stated, result.verdict, said or "nothing, nor does it harm"


def _page(results: list[Result]) -> str:
    table = [HEADS, ("---",) * len(HEADS), *map(_cells, results)]
    machine = f"{platform.system()} {platform.machine()} with {os.cpu_count()} cores"
    made = f"{date.today().isoformat()}, on {machine}, CPython {platform.python_version()}"
    return f"""# Faults of sensors

Made by `make faults` on {made}.
Each fault comes in the midst of a measurement by the real commands, on the real firmware, before chips of the virtual
bench: MPU-6050 on the left where nothing else is said, ADXL355 on the right. Times are the bench's, from the fault to
the words, with what a user takes to move the stick. *Off* is the error of the throw that is most off in its *stated*
95 % uncertainty, with its *verdict* at the end; where there is none, nothing was read. `tests/faults/test_sensors.py`
holds every row.

What no sensor can tell at once: a bias that steps across gravity, and tape that slips about the hinge, turn gravity as
the surface does. Until the surface is back at neutral they are a deflection; so `throws` and `sweep` end there, and
say it from a third of the neutral's tolerance on. Between datum and neutral there is nothing to come back to but the
flat: `hingeline drift-check`. A module that is turned while it is calibrated is seen by nobody but who reads which
face is said to be up; the first throw then tells that it sits askew. Turned by half, it looks as a servo does that
goes the wrong way. A module exchanged for another of its kind answers by the same number, and so do two of one kind
whose cables changed places at the board: the length of gravity tells, unless both modules err alike to 2 mg. Boards
are known by their own ids, at whatever port.

{os.linesep.join("| " + " | ".join(cell.replace("|", "&#124;") for cell in row) + " |" for row in table)}
"""


if __name__ == "__main__":
    main()
