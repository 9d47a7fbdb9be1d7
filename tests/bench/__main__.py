"""Prints the table, and writes it to docs/benchmarks.md."""

from __future__ import annotations

import os
import platform
from datetime import date
from pathlib import Path

import numpy as np
from tests.bench import accuracy, calibration, decoding, endurance, growth, line, records, start, stream, tilt
from tests.bench.rows import Row

PAGE = Path(__file__).parents[2] / "docs" / "benchmarks.md"
MODULES = (decoding, line, stream, endurance, start, growth, records, calibration, accuracy, tilt)
HEADS = ("what", "ours", "", "peer", "theirs", "ratio", "±", "target", "met")
WIDTHS = (72, 7, 9, 28, 7, 6, 4, 8, 3)


def main() -> None:
    """Measure all, each row told as soon as it is known."""
    _tell(HEADS)
    cells = []
    for module in MODULES:
        for row in module.rows():
            cells.append(_cells(row))
            _tell(cells[-1])
    PAGE.write_text(_page(cells))


def _tell(words: tuple[str, ...]) -> None:
    print("  ".join(word.ljust(width) for word, width in zip(words, WIDTHS, strict=True)).rstrip(), flush=True)


def _cells(row: Row) -> tuple[str, ...]:
    told = {True: "yes", False: "no", None: ""}[row.met]
    return (
        row.what,
        _number(row.ours),
        row.unit,
        row.peer,
        _number(row.theirs),
        _number(row.ratio),
        "" if row.spread is None else f"{100 * row.spread:.0f} %",
        _target(row),
        told,
    )


def _target(row: Row) -> str:
    bounds = (("≥", row.at_least), ("≤", row.at_most))
    return ", ".join(f"{sign} {_number(bound)}" for sign, bound in bounds if bound is not None)


def _number(value: float | None) -> str:
    """Three digits."""
    if value is None:
        return ""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{float(f'{value:.3g}'):g}"


def _page(cells: list[tuple[str, ...]]) -> str:
    table = [HEADS, ("---",) * len(HEADS), *cells]
    machine = f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, CPython {platform.python_version()}"
    return f"""# Benchmarks

Made by `make bench` on {date.today().isoformat()}: {machine}, numpy {np.__version__}.
Every ratio is ours to theirs, within one run, both in turn; times are of the processor, those of starts of the clock
on the wall. Figures are medians, ± is half of the interquartile range of what the target is of. A target is of the
ratio where there is a peer, else of our figure.

- **decoding**: from the bytes of a line, as received, to eight integers, the checksum verified. pynmea2 verifies its
  own, of eight bits; COBS with `struct` is what a binary protocol would give.
- **throws, share of a core**: of the command itself, on a terminal; boards are played by `tests/bench/feeder.py` behind
  pseudo-terminals, since the firmware would run on the same machine. {stream.SHARES} windows of {stream.SHARE_S:g} s
  in which work that gives way to all other keeps the cores awake, and as many without it: a core that goes to
  sleep between two beats is slow for a while after each, a virtual one most, and its clock counts that as the
  command's time. The target is of the way to the verdict, told in lines; the large screen draws it at every beat
  besides.
- **from a board's write to the screen**: the boards' ticks are this machine's clock.
- **after an hour**: of the boards' clocks, as fast as the host takes it; the same process after five minutes beside it.
- **rms errors**: over {calibration.BENCHES} simulated benches whose errors are drawn within the datasheet's.
- **chip by chip**: see [accuracy.md](accuracy.md).

{chr(10).join("| " + " | ".join(row) + " |" for row in table)}
"""


if __name__ == "__main__":
    main()
