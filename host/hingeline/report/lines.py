"""The sample lines of one sensor in a run, as far as a report needs them: a run of a day fits into memory."""

from __future__ import annotations

import math
from array import array
from collections.abc import Iterable

import numpy as np

from hingeline.device.samples import Sample
from hingeline.measure.tracks import Floats

MOST_LINES = 360_000
"""An hour at 100 lines/s: 14 MB. A person who lets a run wait for longer sees no course of it."""


class Lines:
    """How many lines there were, and those that may be drawn: the first `MOST_LINES` of the run, and of each surface.

    A row of lines (N, 5) holds a board time in s, counts on three axes, and a temperature in °C, NaN where unknown.
    """

    def __init__(self) -> None:
        self.count = 0
        self._until = MOST_LINES
        self._kept = array("d")
        self._stretches = [(0, 0)]  # of each, its first line's number in the run, and its place among those kept
        self._range_c: tuple[float, float] | None = None

    @classmethod
    def of(cls, samples: Iterable[Sample]) -> Lines:
        """Those of some samples."""
        lines = cls()
        for sample in samples:
            lines.add_sample(sample)
        return lines

    @property
    def is_cut(self) -> bool:
        """Whether the last lines are not kept."""
        return self.count > self._until

    @property
    def range_c(self) -> tuple[float, float] | None:
        """The lowest and the highest temperature of the chip, None where it told none."""
        return self._range_c

    @property
    def kept(self) -> Floats:
        """All that are kept (N, 5)."""
        return np.array(self._kept).reshape(-1, 5)

    def add(self, rows: Floats) -> None:
        """Take the next lines (N, 5)."""
        known_c = rows[~np.isnan(rows[:, 4]), 4]
        if known_c.size:
            ends_c = (*(self._range_c or ()), float(known_c.min()), float(known_c.max()))
            self._range_c = min(ends_c), max(ends_c)
        self._kept.frombytes(rows[: max(self._until - self.count, 0)].tobytes())
        self.count += len(rows)

    def add_sample(self, sample: Sample) -> None:
        """Take the next line."""
        self.add(np.array([(sample.time_s, *sample.counts, sample.temperature_c)], float))

    def begin(self) -> None:
        """Keep as many again: a surface begins."""
        if self.is_cut:
            self._stretches.append((self.count, len(self._kept) // 5))
        self._until = self.count + MOST_LINES

    def between(self, first: int, last: int) -> Floats:
        """The lines from one number to before another (N, 5); fewer where some are not kept."""
        index = max(index for index, (number, _) in enumerate(self._stretches) if number <= first)
        number, place = self._stretches[index]
        end = self._stretches[index + 1][1] if index + 1 < len(self._stretches) else len(self._kept) // 5
        return self.kept[place + first - number : min(place + last - number, end)]


def known(temperature_c: Floats) -> list[float | None]:
    """Temperatures (N,) with None for NaN."""
    return [None if math.isnan(each) else each for each in temperature_c.tolist()]
