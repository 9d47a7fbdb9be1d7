"""Surfaces that creep, drift, hunt and step: how often the stated 95 % holds, and how soon they are read."""

from __future__ import annotations

import numpy as np
from tests.host.measure.creeping import CHIPS, FILTER_HZ, MOTIONS, FirstReading, first_reading

LINES_HZ = 50
SEEDS = 100
LEAST_PERCENT = 92


def section() -> str:
    """The part of docs/accuracy.md: motion by motion, former readings beside those of now."""
    heads = ("surface", *CHIPS)
    cells = [(name, *(_cell(name, chip) for chip in CHIPS)) for name in MOTIONS]
    table = "\n".join("| " + " | ".join(row) + " |" for row in (heads, ("---",) * len(heads), *cells))
    return f"""## Surfaces that have not settled

A surface is moved by 20° and comes to rest in its own way (tests/host/measure/creeping.py): it creeps by 0.1 to 1° more
toward its end, drifts at 0.003 to 0.2°/s, hunts by up to 0.15° at 1 to 4 Hz, or makes a step of 0.1 to 1° within 2 s.
{SEEDS} seeds a cell, {LINES_HZ} lines a second, noise by the datasheet, a filter of {FILTER_HZ} Hz.

*Read as soon as it was still → as it is read now*: how many of the stated 95 % intervals hold where it comes to rest
(for drift and step: where it is), of those that were read at all; the median of the stated ±, and of the time from the
end of the move. At least {LEAST_PERCENT} % is wanted of what is read now.

{table}
"""


def _cell(name: str, chip: str) -> str:
    return " → ".join(_figures(name, chip, settles=settles) for settles in (False, True))


def _figures(name: str, chip: str, *, settles: bool) -> str:
    taken = [first_reading(MOTIONS[name], chip, LINES_HZ, seed, settles=settles) for seed in range(SEEDS)]
    known: list[FirstReading] = [each for each in taken if each is not None]
    if not known:
        return "never read"
    held = 100 * np.mean([each.is_held for each in known])
    within_deg, after_s = (np.median([getattr(each, name) for each in known]) for name in ("within_deg", "after_s"))
    few = f" ({len(known)} read)" if len(known) < SEEDS else ""
    return f"{held:.0f} %{few}, ±{within_deg:.2f}°, {after_s:.1f} s"
