"""Whether short blocks of lines are still: their scatter beside the noise that the sensor shows, and their slope.

Plain numbers, an axis at a time: for blocks of some ten lines numpy takes longer to be called than to reckon.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Sequence
from functools import cache
from statistics import NormalDist
from typing import NamedTuple

_FALSE_ALARM = 1e-6
"""Chance that a test calls a block of pure noise a movement."""
_FALSE_ALARM_SIGMAS = NormalDist().inv_cdf(1 - _FALSE_ALARM)
_SIGMAS = 5.0
"""The same for a slope, Gaussian."""
_SLACK = 1.5
"""The learned variances are themselves learned from some tens of lines."""
_LEARNING = 0.02
_FIRST_EXCESS, _MOST_EXCESS = 2.0, 4.0
"""How much noisier than white noise the mean of a block is taken to be at first, and by a chip's filter at most."""
_SAME_S, _SAME_BLOCKS = 4.0, 8
"""Scatter that stays the same for so long, in so many blocks at least, is noise if it is below the ceiling."""

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
    The first few lines tell of all axes together. Nothing learned is final: a scatter that stays the same is noise.

    Parameters
    ----------
    ceiling_counts
        Standard deviation of a line, beyond which nothing is taken for noise.
    step_counts
        Distance of neighbouring values of the chip.
    """

    def __init__(self, ceiling_counts: float, step_counts: float) -> None:
        self._floor, self._ceiling = step_counts**2 / 12, ceiling_counts**2
        self._lines_a_block = 1.0
        self._restless: deque[Block] = deque()
        self._line: Axes = ()

    @property
    def mean(self) -> Axes:
        """By axis, the variance of the mean of a block in counts²."""
        return [max(self._excess * variance / self._lines_a_block, self._floor) for variance in self._line]

    def exceeded(self, blocks: Sequence[Block], *, at_rest: bool) -> bool:
        """Whether lines scatter in their blocks, or blocks about their mean, by more than noise does.

        The newest block comes first. The first scatter seen is taken for noise, up to the ceiling; what is seen
        `at_rest` is learned, and what stays the same for `_SAME_S` though it was none.
        """
        scatters = line, mean, *_ = _scatters(blocks)
        self._lines_a_block = sum(block.lines for block in blocks) / len(blocks)
        if not self._line:
            self._begin([sum(line) / len(line)] * len(line))
        differs = self._are_beyond(*scatters)
        if at_rest and not differs:
            self._restless.clear()
            self._learn(self._within(line), mean)
            return False
        self._restless.append(blocks[0])
        while blocks[0].time_s - self._restless[0].time_s > _SAME_S:
            self._restless.popleft()
        return differs and not self._stays_the_same()

    def differs(self, blocks: Sequence[Block]) -> bool:
        """Whether blocks scatter by more than the noise that is known; nothing is learned."""
        return self._are_beyond(*_scatters(blocks))

    def forget_restless(self) -> None:
        """Lines are missing: what comes now does not go on from what was before."""
        self._restless.clear()

    def _are_beyond(self, line: Axes, mean: Axes, inside: int, between: int) -> bool:
        is_noise = sum(line) <= len(line) * self._ceiling
        return not is_noise or _beyond(line, self._line, inside) or _beyond(mean, self.mean, between)

    def _begin(self, line: Axes) -> None:
        self._looks, self._excess, self._line = 1, _FIRST_EXCESS, self._within(line)

    def _stays_the_same(self) -> bool:
        """Whether the latest seconds scatter alike and lie no further apart than that lets them: it is learned anew."""
        blocks = list(self._restless)
        if len(blocks) < _SAME_BLOCKS or blocks[-1].time_s - blocks[0].time_s < _SAME_S * (1 - 1 / _SAME_BLOCKS):
            return False
        line, mean, inside, between = _scatters(blocks)
        means = [_MOST_EXCESS * max(variance, self._floor) * len(blocks) / (inside + len(blocks)) for variance in line]
        if (
            sum(line) > len(line) * self._ceiling
            or self._halves_differ(blocks)
            or _beyond(mean, means, between)
            or Trend(blocks).beyond(means)
        ):
            return False
        self._begin(line)
        return True

    def _halves_differ(self, blocks: Sequence[Block]) -> bool:
        half = len(blocks) // 2
        first, second = (_scatters(part) for part in (blocks[:half], blocks[half:]))
        before, after = ([max(variance, self._floor) for variance in part[0]] for part in (first, second))
        return _beyond(before, after, first[2]) or _beyond(after, before, second[2])

    def _learn(self, line: Axes, mean: Axes) -> None:
        """Average what is seen at rest, the latest half minute or so weighing most; the first guess is one look."""
        self._looks += 1
        share = max(1 / self._looks, _LEARNING)
        excess = self._lines_a_block * _mean_ratio(mean, line)
        self._excess = max(1.0, self._excess + share * (excess - self._excess))
        self._line = [old + share * (new - old) for old, new in zip(self._line, line, strict=True)]

    def _within(self, variances: Axes) -> Axes:
        return [min(max(variance, self._floor), self._ceiling) for variance in variances]


def _scatters(blocks: Sequence[Block]) -> tuple[Axes, Axes, int, int]:
    """By axis, the variances of a line in its block and of the mean of a block; degrees of freedom an axis of both."""
    inside, between = sum(block.lines for block in blocks) - len(blocks), len(blocks) - 1
    line = [sum(squares) / inside for squares in zip(*(block.squares for block in blocks), strict=True)]
    mean = [_scatter(means)[1] / between for means in zip(*(block.mean for block in blocks), strict=True)]
    return line, mean, inside, between


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
