"""Is the sensor still, by the noise it shows itself? And the reading: the mean of a still stretch.

Lines are gathered in short blocks. While the sensor is still, the spread inside the blocks is the noise it has shown
before, the means of the blocks lie together as that noise lets them, and the whole stretch has no slope, a test that
finds ever slower drifts the longer the stretch lasts. Every threshold is a multiple of that noise, at a stated rate of
false alarms.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array, mean_of_known
from hingeline_calibration.noise import covariance_of_mean
from hingeline_calibration.settling import covariance_of_way
from hingeline_calibration.steadiness import Axes, Block, Noise, Trend

LONGEST_S = 10.0
"""The mean of a still stretch goes back this far."""
CEILING_G = 0.008
"""Standard deviation of a line beyond which nothing is noise, where the chip is not known: 3 × 400 µg/√Hz × √44 Hz."""
_BLOCK_S, _BLOCK_LINES = 0.1, 4
_LEAST_BLOCKS = 3
"""Rare lines make long blocks: so few of them are enough."""
_GAP_S = 0.5
"""After this long without a line, stillness must be shown again."""


@dataclass(frozen=True, eq=False)
class Reading:
    """The average of one sensor over a still stretch.

    Attributes
    ----------
    mean_counts, covariance_counts2 : (3,), (3, 3)
        Mean of the lines, chip axes, and its covariance, correlation in time counted.
    temperature_c
        Mean temperature of the chip; None without a thermometer.
    start_s
        Board time at which the stretch became still: two readings of one stretch have the same, and so have those
        before and after a silence in which nothing has moved.
    way_counts2 : (3, 3)
        Of a surface, which settles: covariance of what it may have left to go to its end; None of what lies still.
    """

    mean_counts: Array
    covariance_counts2: Array
    temperature_c: float | None
    duration_s: float
    lines: int
    start_s: float
    way_counts2: Array | None = None

    @property
    def end_counts2(self) -> Array:
        """Covariance (3, 3) of the mean, for where it comes to rest."""
        return self.covariance_counts2 if self.way_counts2 is None else self.covariance_counts2 + self.way_counts2


def summarise(
    times_s: ArrayLike,
    counts: ArrayLike,
    temperatures_c: Sequence[float | None],
    *,
    step_counts: float = 1.0,
    start_s: float | None = None,
) -> Reading:
    """The reading of lines known to be still, N at least 2: board times (N,), counts (N, 3), chip temperatures (N,).

    `step_counts` is the distance of neighbouring values of the chip, `start_s` the start of the stretch where the lines
    are only its end.
    """
    times = np.asarray(times_s, float)
    shown = np.asarray(counts, float)
    interval_s = (times[-1] - times[0]) / (times.size - 1)
    return Reading(
        mean_counts=shown.mean(axis=0),
        covariance_counts2=covariance_of_mean(shown, step_counts),
        temperature_c=mean_of_known(temperatures_c),
        duration_s=float(times[-1] - times[0] + interval_s),
        lines=times.size,
        start_s=float(times[0]) if start_s is None else start_s,
    )


_Line = tuple[float, Axes, float | None]


class StillWatch:
    """Decides from the lines of one sensor whether it is still: once a still stretch has lasted `hold_s`.

    Only `ceiling_g`, the ceiling of what may be taken for noise, needs the nominal sensitivity; `step_counts` as in
    `summarise`.
    """

    def __init__(
        self, counts_per_g: float, hold_s: float = 0.7, step_counts: float = 1.0, ceiling_g: float = CEILING_G
    ) -> None:
        self._hold_s = self._needed_s = hold_s
        self._step = step_counts
        self._noise = Noise(ceiling_g * counts_per_g, step_counts)
        self._lines: deque[_Line] = deque()
        self._blocks: deque[Block] = deque()
        self._start_s: float | None = None
        self._former: tuple[float, list[Block]] | None = None
        self._begin(0)

    def interrupt(self) -> None:
        """Lines are missing: stillness must be shown anew. A sensor that then shows the same has not moved."""
        since_s = self.still_since_s
        former = self._former if since_s is None else (since_s, self._recent())
        self._needed_s = self._hold_s
        self._noise.forget_restless()
        self._begin(0)
        self._former = former

    @property
    def moving(self) -> bool:
        """Whether the sensor is not known to be still now."""
        return not self._still

    @property
    def still_since_s(self) -> float | None:
        """Start of the stretch that `reading` gives, None while moving."""
        return self._start_s if self._still else None

    def push(self, time_s: float, counts: Axes, temperature_c: float | None) -> None:
        """Take one line: board time, counts on three axes, chip temperature."""
        if self._lines and time_s - self._lines[-1][0] > _GAP_S:
            self.interrupt()
        self._lines.append((time_s, counts, temperature_c))
        self._open += 1
        if self._open >= _BLOCK_LINES and time_s - self._lines[-self._open][0] >= _BLOCK_S:
            self._close_block()

    def reading(self, *, settles: bool = False) -> Reading | None:
        """The still stretch up to the last full block, once it has lasted long enough.

        Of what `settles` it tells what it may have left to go, too.
        """
        if not self._still:
            return None
        times, counts, temperatures = zip(*list(self._lines)[: len(self._lines) - self._open], strict=True)
        reading = summarise(times, counts, temperatures, step_counts=self._step, start_s=self._start_s)
        return replace(reading, way_counts2=covariance_of_way(times, counts, self._step)) if settles else reading

    def _begin(self, kept: int) -> None:
        """Start a stretch with the last `kept` blocks."""
        self._still = False
        self._former = None
        self._open = 0
        while len(self._blocks) > kept:
            self._blocks.popleft()
        while len(self._lines) > sum(block.lines for block in self._blocks):
            self._lines.popleft()
        self._start_s = self._lines[0][0] if kept else None
        self._trend = Trend(self._blocks)

    def _close_block(self) -> None:
        lines = [self._lines[index] for index in range(-self._open, 0)]
        block = Block.of([line[0] for line in lines], [line[1] for line in lines])
        self._open = 0
        if self._start_s is None:
            self._start_s = lines[0][0]
        self._blocks.append(block)
        self._trend.add(block)
        while lines[-1][0] - self._lines[0][0] > LONGEST_S:
            oldest = self._blocks.popleft()
            self._trend.add(oldest, -1)
            for _ in range(oldest.lines):
                self._lines.popleft()
        if block.time_s - self._trend.origin_s > 10 * LONGEST_S:
            self._trend = Trend(self._blocks)  # rounding does not add up
        self._judge()

    def _judge(self) -> None:
        """Decide on the stretch up to the block that has just closed."""
        if len(self._blocks) < _LEAST_BLOCKS:
            return
        recent = self._recent()
        if self._noise.exceeded(recent, at_rest=self._still):
            self._needed_s = self._hold_s
            self._begin(1)
            return
        lasted_s = self._lines[-1][0] - self._lines[0][0]
        if self._trend.beyond(self._noise.mean):
            self._needed_s = min(2 * lasted_s, LONGEST_S / 2)
            self._begin(1)
        elif lasted_s >= self._needed_s:
            self._still = True
            self._needed_s = self._hold_s
            self._resume(recent)

    def _recent(self) -> list[Block]:
        """The blocks of the last `hold_s`, and `_LEAST_BLOCKS` at least."""
        since_s = min(self._lines[-1][0] - self._hold_s, self._blocks[-_LEAST_BLOCKS].time_s)
        return list(takewhile(lambda block: block.time_s >= since_s, reversed(self._blocks)))

    def _resume(self, recent: list[Block]) -> None:
        """Go on with the stretch before a silence if the sensor shows the same."""
        if self._former is not None:
            start_s, before = self._former
            self._former = None
            if not self._noise.differs([*recent, *before]):
                self._start_s = start_s
