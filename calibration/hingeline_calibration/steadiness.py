"""Whether short blocks of lines are still: their scatter beside the noise that the sensor shows, and their slope.

Plain numbers, an axis at a time: for blocks of some ten lines numpy takes longer to be called than to reckon.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

_CEILING_G = 0.004
"""More than the noise of any chip in chips.py: what shakes more is not noise, even at the beginning."""
_FALSE_ALARM = 1e-6
"""Chance that a test calls a block of pure noise a movement."""
_FALSE_ALARM_SIGMAS = NormalDist().inv_cdf(1 - _FALSE_ALARM)
_SIGMAS = 5.0
"""The same for a slope, Gaussian."""
_SLACK = 1.5
"""The learned variances are themselves learned from some tens of lines."""
_LEARNING = 0.02

Axes = Sequence[float]
"""A number for each of the three axes."""


class Block(NamedTuple):
    """Lines of about a tenth of a second: their middle time, mean, squared deviations from it, and number."""

    time_s: float
    mean: Axes
    squares: Axes
    lines: int

    @classmethod
    def of(cls, times_s: Sequence[float], counts: Iterable[Axes]) -> Block:
        """The block of lines at some times."""
        mean, squares = zip(*map(_scatter, zip(*counts, strict=True)), strict=True)
        return cls((times_s[0] + times_s[-1]) / 2, mean, squares, len(times_s))


class Noise:
    """The noise that a sensor shows at rest: of a line by axis, and how it averages over a block.

    All axes share the chip's filter, so how much noisier than that of white noise the mean of a block is, is pooled
    over them: three blocks tell little of it, and by chance the means of one axis may coincide. It is never less noisy.
    """

    def __init__(self, counts_per_g: float, step_counts: float) -> None:
        self._floor = step_counts**2 / 12
        self._ceiling = (_CEILING_G * counts_per_g) ** 2
        self._looks = 1
        self._line: Axes = ()
        self._excess = 2.0
        self._lines_a_block = 1.0

    @property
    def mean(self) -> Axes:
        """By axis, the variance of the mean of a block in counts²."""
        return [max(self._excess * variance / self._lines_a_block, self._floor) for variance in self._line]

    def exceeded(self, blocks: Sequence[Block], *, at_rest: bool) -> bool:
        """Whether lines scatter in their blocks, or blocks about their mean, by more than noise does.

        The first scatter seen is taken for noise, up to the ceiling; what is seen `at_rest` is learned.
        """
        lines = sum(block.lines for block in blocks)
        inside, between = lines - len(blocks), len(blocks) - 1
        line = [sum(squares) / inside for squares in zip(*(block.squares for block in blocks), strict=True)]
        mean = [_scatter(means)[1] / between for means in zip(*(block.mean for block in blocks), strict=True)]
        self._lines_a_block = lines / len(blocks)
        self._line = self._line or self._within(line)
        if _beyond(line, self._line, inside) or _beyond(mean, self.mean, between):
            return True
        if at_rest:
            self._learn(self._within(line), mean)
        return False

    def _learn(self, line: Axes, mean: Axes) -> None:
        """Average what is seen at rest, the latest half minute or so weighing most; the first guess is one look."""
        self._looks += 1
        share = max(1 / self._looks, _LEARNING)
        excess = self._lines_a_block * _mean_ratio(mean, line)
        self._excess = max(1.0, self._excess + share * (excess - self._excess))
        self._line = [old + share * (new - old) for old, new in zip(self._line, line, strict=True)]

    def _within(self, variances: Axes) -> Axes:
        return [min(max(variance, self._floor), self._ceiling) for variance in variances]


class Trend:
    """The slope of the means of blocks over time, by sums: blocks come and go, the others are not looked at.

    Times count from the first block, at `origin_s`.
    """

    def __init__(self, blocks: Iterable[Block]) -> None:
        self.origin_s = 0.0
        self._blocks, self._times, self._squares = 0, 0.0, 0.0
        self._sums = [(0.0, 0.0)] * 3
        for block in blocks:
            self.add(block)

    def add(self, block: Block, times: int = 1) -> None:
        """Count a block; `times` -1 takes it out again."""
        if not self._blocks:
            self.origin_s = block.time_s
        time_s = block.time_s - self.origin_s
        self._blocks += times
        self._times += times * time_s
        self._squares += times * time_s**2
        self._sums = [
            (means + times * mean, products + times * time_s * mean)
            for (means, products), mean in zip(self._sums, block.mean, strict=True)
        ]

    def beyond(self, variance: Axes) -> bool:
        """Whether there is a slope, the means having that variance by axis."""
        middle_s = self._times / self._blocks
        spread_s2 = self._squares - middle_s * self._times
        limit = _SIGMAS**2 * _SLACK * spread_s2
        return any(
            (slant := products - middle_s * means) * slant > limit * noise
            for (means, products), noise in zip(self._sums, variance, strict=True)
        )


def _scatter(values: Axes) -> tuple[float, float]:
    """The mean, and the sum of the squared deviations from it; infinite where they are beyond all numbers."""
    mean = sum(values) / len(values)
    return mean, sum([(off := value - mean) * off for value in values])


def _beyond(variances: Axes, noise: Axes, freedom: int) -> bool:
    """Whether variances of the axes, each of `freedom` degrees, are more than noise makes them."""
    return _mean_ratio(variances, noise) > _SLACK * _limit_of_mean_square(len(noise) * freedom)


def _mean_ratio(variances: Axes, noise: Axes) -> float:
    return sum([variance / usual for variance, usual in zip(variances, noise, strict=True)]) / len(noise)


@cache
def _limit_of_mean_square(degrees: float) -> float:
    """What the mean square of `degrees` standard normal numbers exceeds by chance once in 1/_FALSE_ALARM.

    Wilson and Hilferty (1931), memory: the cube root of chi-squared is nearly normal; scipy's own takes as long to
    import as a command to start.
    """
    spread = 2 / (9 * degrees)
    return float((1 - spread + _FALSE_ALARM_SIGMAS * math.sqrt(spread)) ** 3)
