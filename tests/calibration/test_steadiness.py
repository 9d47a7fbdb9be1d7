"""When blocks of lines scatter, or climb, by more than noise does: against chi-squared and a line's slope in scipy.

Blocks are made so that their scatter is exact. The rate of false alarms and the slack are those that still.py states.
"""

import numpy as np
import pytest
from scipy.stats import chi2, linregress

from hingeline_calibration.steadiness import Block, Noise, Trend

LINES = 10
ONE_IN_A_MILLION, SLACK = 1e-6, 1.5
CEILING, STEP = 100.0, 2.0


def blocks(variance, *, count=7, mean_variance=0.0, apart_s=0.2):
    """Blocks whose lines scatter by a variance, and whose means by another, newest first."""
    ends = np.sqrt(mean_variance * (count - 1) / 2) * np.array([1, *[0] * (count - 2), -1])
    return [
        Block((count - place) * apart_s, [end] * 3, [float(variance) * (LINES - 1)] * 3, LINES)
        for place, end in enumerate(ends.tolist())
    ]


def limit(degrees):
    """What the mean square of as many normal numbers exceeds once in a million, with the slack."""
    return SLACK * chi2.isf(ONE_IN_A_MILLION, degrees) / degrees


@pytest.fixture
def noise():
    """It has seen lines with a variance of 16 counts²."""
    watch = Noise(CEILING, STEP)
    assert not watch.exceeded(blocks(16.0), at_rest=False)
    return watch


@pytest.mark.parametrize("count", [3, 7, 20])
@pytest.mark.parametrize(("share", "differs"), [(0.98, False), (1.02, True)])
def test_lines_scatter_by_more_than_noise_beyond_chi_squared(noise, count, share, differs):
    """Each of three axes has nine degrees of freedom a block."""
    most = 16.0 * limit(3 * (LINES - 1) * count)
    assert noise.differs(blocks(share * most, count=count)) is differs


@pytest.mark.parametrize("count", [7, 20])
@pytest.mark.parametrize(("share", "differs"), [(0.97, False), (1.03, True)])
def test_means_scatter_by_more_than_noise_beyond_chi_squared(noise, count, share, differs):
    """At first, twice that of white noise, 16/10, is let pass; one degree fewer than blocks."""
    most = 2 * 16.0 / LINES * limit(3 * (count - 1))
    assert noise.differs(blocks(16.0, count=count, mean_variance=share * most)) is differs


@pytest.mark.parametrize(("share", "differs"), [(0.98, False), (1.02, True)])
def test_a_chip_that_repeats_one_value_has_the_noise_of_its_steps(share, differs):
    """A uniform error of one step has the variance of a twelfth of its square (GUM 4.3.7)."""
    watch = Noise(CEILING, STEP)
    assert not watch.exceeded(blocks(0.0), at_rest=True)
    assert watch.mean == pytest.approx([STEP**2 / 12] * 3)
    assert watch.differs(blocks(share * STEP**2 / 12 * limit(3 * 9 * 7))) is differs


def test_beyond_the_ceiling_nothing_is_noise():
    watch = Noise(CEILING, STEP)
    assert not watch.exceeded(blocks(0.99 * CEILING**2), at_rest=False)
    assert watch.exceeded(blocks(1.01 * CEILING**2), at_rest=False)
    assert Noise(CEILING, STEP).exceeded(blocks(1.01 * CEILING**2), at_rest=False)


def test_what_is_seen_at_rest_is_averaged_and_later_looks_weigh_a_fiftieth(noise):
    """The first guess is one look; means that coincide are taken for white noise."""
    assert noise.mean == pytest.approx([2 * 16.0 / LINES] * 3)
    assert not noise.exceeded(blocks(20.0), at_rest=True)
    assert noise.mean == pytest.approx([18.0 / LINES] * 3)
    for _ in range(500):
        noise.exceeded(blocks(18.0), at_rest=True)
    noise.exceeded(blocks(23.0), at_rest=True)
    assert noise.mean == pytest.approx([(18.0 + 5.0 / 50) / LINES] * 3, rel=1e-4)


def test_what_is_not_at_rest_is_not_learned(noise):
    before = noise.mean
    noise.exceeded(blocks(20.0), at_rest=False)
    noise.differs(blocks(20.0))
    assert noise.mean == before


@pytest.mark.parametrize("excess", [1.5, 3.0])
def test_how_much_noisier_than_white_noise_means_are_is_learned(noise, excess):
    for _ in range(500):
        noise.exceeded(blocks(16.0, mean_variance=excess * 16.0 / LINES), at_rest=True)
    assert noise.mean == pytest.approx([excess * 16.0 / LINES] * 3, rel=1e-3)


@pytest.mark.parametrize(
    ("scatter", "seconds", "is_learned"),
    [(100.0, 3.2, False), (100.0, 3.8, True), (1.1 * CEILING**2, 3.8, False)],
)
def test_a_scatter_that_stays_the_same_for_four_seconds_is_noise_after_all(noise, scatter, seconds, is_learned):
    """A block every 0.2 s: a fan that was switched on, below the ceiling."""
    for last in range(30, 30 + round(seconds / 0.2)):
        recent = [block._replace(time_s=block.time_s + 0.2 * last) for block in blocks(scatter)]
        exceeded = noise.exceeded(recent, at_rest=False)
    assert exceeded is not is_learned
    assert noise.mean == pytest.approx([2 * (scatter if is_learned else 16.0) / LINES] * 3)


def test_lines_that_were_missing_begin_the_four_seconds_anew(noise):
    for last in range(7, 60):
        if last % 15 == 0:
            noise.forget_restless()
        recent = [block._replace(time_s=block.time_s + 0.2 * last) for block in blocks(100.0)]
        assert noise.exceeded(recent, at_rest=False)


def climbing(slope, count=20, begin_s=50.0):
    times_s = begin_s + 0.2 * np.arange(count)
    return [Block(time_s, [5.0, slope * time_s, -7.0], [1.0] * 3, LINES) for time_s in times_s.tolist()]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(("share", "is_beyond"), [(0.99, False), (1.01, True)])
def test_a_slope_of_five_deviations_and_the_slack_is_a_drift(sign, share, is_beyond):
    """The deviation of a slope is that of a mean over the root of the sum of squared times (any textbook)."""
    times_s = 0.2 * np.arange(20)
    variance = 3.0
    most = float(5 * np.sqrt(SLACK * variance / np.sum((times_s - times_s.mean()) ** 2)))
    assert Trend(climbing(sign * share * most)).beyond([variance] * 3) is is_beyond
    fitted = linregress([block.time_s for block in climbing(most)], [block.mean[1] for block in climbing(most)])
    assert fitted.slope == pytest.approx(most)


def test_blocks_taken_out_of_a_trend_leave_that_of_the_others():
    slope = 0.05
    every = climbing(slope, count=40)
    trend = Trend(every)
    for block in every[:20]:
        trend.add(block, -1)
    times_s = 0.2 * np.arange(20)
    square = float(slope**2 * np.sum((times_s - times_s.mean()) ** 2) / (25 * SLACK))
    assert trend.beyond([0.99 * square] * 3)
    assert not trend.beyond([1.01 * square] * 3)
    assert trend.origin_s == 50.0


def test_a_block_is_its_middle_its_mean_and_its_squared_deviations():
    block = Block.of([1.0, 1.1, 1.3], [(1, 10, 0), (2, 10, 3), (6, 10, -3)])
    assert block.time_s == pytest.approx(1.15)
    assert block.mean == pytest.approx((3, 10, 0))
    assert block.squares == pytest.approx((14, 0, 18))
    assert block.lines == 3
