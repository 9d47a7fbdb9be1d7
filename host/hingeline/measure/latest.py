"""What a sensor shows at this moment: the mean of its last samples, calm at rest, quick on the move."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import replace
from itertools import takewhile

import numpy as np

from hingeline.device.samples import Sample
from hingeline_calibration.arrays import Array
from hingeline_calibration.still import Reading, summarise

STILL_S, MOVING_S = 0.5, 0.1
"""The mean is over this time: at rest its noise is a quarter of a tenth of a degree even of a noisy chip
(400 µg/√Hz / √(2 · 0.5 s) = 0.023°); on the move it must not lag."""
STEP_SD = 5.0
"""A step of so many standard deviations is no noise: at rest one look in a thousand takes noise for one."""
LEAST_SD_COUNTS = 0.3
"""Of a chip whose steps hide its noise: that of rounding, 1/√12 (JCGM 100:2008, F.2.2.1)."""
NOISE_S = 2.0
"""The noise of that mean is estimated once in this time: that takes as long as all else that is shown."""


class Latest:
    """The last samples of one sensor."""

    def __init__(self) -> None:
        self._samples: deque[Sample] = deque()
        self._average: Reading | None = None

    def push(self, sample: Sample) -> None:
        """Take a sample, and drop those older than `STILL_S`."""
        self._samples.append(sample)
        while sample.time_s - self._samples[0].time_s > STILL_S:
            self._samples.popleft()

    def clear(self) -> None:
        """Begin anew."""
        self._samples.clear()

    @property
    def temperature_c(self) -> float | None:
        """Of the chip, at the last sample."""
        return self._samples[-1].temperature_c if self._samples else None

    def average(self, moving: bool) -> Reading | None:
        """The mean of the last samples with its noise, which is estimated every `NOISE_S`; None of fewer than two.

        That it moves is seen here before stillness has ended: a mean of two places is at neither.
        """
        samples = [*self._samples]
        counts = np.array([sample.counts for sample in samples])
        recent = self._recent()
        if moving or _steps(counts, recent):
            samples, counts = samples[-recent:], counts[-recent:]
        if len(samples) < 2:
            return None
        last = self._average
        is_fresh = last is not None and samples[0].time_s - last.start_s < NOISE_S
        if last is None or not is_fresh or abs(len(samples) - last.lines) > last.lines // 5:
            times_s, temperatures_c = [each.time_s for each in samples], [each.temperature_c for each in samples]
            last = summarise(times_s, counts, temperatures_c)
        self._average = replace(last, mean_counts=counts.mean(axis=0))
        return self._average

    def _recent(self) -> int:
        """How many samples are of the last `MOVING_S`."""
        if not self._samples:
            return 0
        since_s = self._samples[-1].time_s - MOVING_S
        return sum(1 for _ in takewhile(lambda sample: sample.time_s >= since_s, reversed(self._samples)))


def _steps(counts: Array, recent: int) -> bool:
    """Whether the last so many of the counts (N, 3) lie elsewhere than those before, by the noise between neighbours.

    Of differences a step spoils but one: half of them are below 0.6745 √2 standard deviations of normal noise.
    """
    before = len(counts) - recent
    if min(before, recent) < 2:
        return False
    middle = np.sort(np.abs(np.diff(counts, axis=0)), axis=0)[(len(counts) - 1) // 2]
    sd = np.maximum(middle / 0.9539, LEAST_SD_COUNTS)
    step = np.abs(counts[-recent:].mean(axis=0) - counts[:before].mean(axis=0))
    return bool((step > STEP_SD * sd * math.sqrt(1 / recent + 1 / before)).any())
