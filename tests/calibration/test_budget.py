"""Uncertainties that add as squares, and means of what is known, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from hingeline_calibration.arrays import angle_between_deg, mean_of_known
from hingeline_calibration.budget import Budget, Row, coverage_factor, deviation_of_repeatability, repeatability


def test_sources_of_one_name_add_as_squares_and_the_greatest_comes_first() -> None:
    budget = Budget.of([("noise", 3.0), ("chord", 12.0), ("noise", -4.0), ("table", 0.0)])
    assert budget.items() == (("chord", 12.0), ("noise", 5.0))
    assert budget.standard_uncertainty == 13.0


def test_95_percent_are_1_96_deviations() -> None:
    """GUM G.1.3, table G.1: k = 1.960."""
    assert Budget.of([("noise", 0.5)]).interval(10.0) == pytest.approx((9.02, 10.98))


def test_a_budget_in_another_unit_and_without_a_source() -> None:
    budget = Budget.of([("noise", 3.0), ("chord", 4.0)])
    assert budget.scaled(-2.0).items() == (("chord", 8.0), ("noise", 6.0))
    assert budget.without("chord").items() == (("noise", 3.0),)
    assert budget.without("nothing").standard_uncertainty == 5.0


def test_the_mean_is_of_what_is_known() -> None:
    assert mean_of_known([20.0, None, 25.0]) == 22.5
    assert mean_of_known([None, None]) is None
    assert mean_of_known([]) is None


@pytest.mark.parametrize(
    ("first", "second", "expected"),
    [
        ((1, 0, 0), (0, 2, 0), 90.0),
        ((1, 1, 0), (1, 0, 0), 45.0),
        ((0, 0, 3), (0, 0, -1), 180.0),
        ((0, 1, 1), (0, 2, 2), 0.0),
        ((1, 0, 0), (1, 1e-9, 0), 5.7296e-8),
        ((1, 2, 3), (3, 2, 1), 44.4153),
    ],
)
def test_angles_between_vectors_of_any_length(first: object, second: object, expected: float) -> None:
    """The last: cos = 10/14."""
    assert angle_between_deg(first, second) == pytest.approx(expected, rel=1e-4, abs=1e-12)
    assert angle_between_deg(second, first) == pytest.approx(expected, rel=1e-4, abs=1e-12)


def test_effective_degrees_of_freedom_of_the_gum() -> None:
    """JCGM 100:2008, H.1.6, end gauge: 25 nm of 18, 9.7 of 25.6, 2.9 of 50 and 16.6 of 2: 32 nm of 16.7 (memory)."""
    rows = [Row("standard", 25.0, 18), Row("difference", 9.7, 25.6), Row("expansion", 2.9, 50), Row("both", 16.6, 2)]
    assert Budget.of(rows).standard_uncertainty == pytest.approx(32, abs=0.5)
    assert Budget.of(rows).freedom == pytest.approx(16.7, abs=1.0)


def test_students_t_of_table_g_2() -> None:
    """JCGM 100:2008, table G.2, 95 %."""
    table = {1: 12.71, 2: 4.30, 3: 3.18, 4: 2.78, 5: 2.57, 6: 2.45, 8: 2.31, 10: 2.23, 20: 2.09, 50: 2.01, 100: 1.984}
    for freedom, factor in table.items():
        assert coverage_factor(freedom) == pytest.approx(factor, abs=0.006)
    assert coverage_factor(float("inf")) == 1.96
    assert coverage_factor(5.9) == coverage_factor(5), "the next lower integer, G.4.2"


def test_few_readings_widen_what_they_tell_alone() -> None:
    """Three readings repeat to 0.1: ±4.30 times it alone; beside a source twice as large less than 10 % more."""
    alone, beside = Budget.of([Row("repeatability", 0.1, 2)]), Budget.of([Row("repeatability", 0.1, 2), ("datum", 0.2)])
    assert alone.interval(0.0)[1] == pytest.approx(0.4303)
    assert beside.freedom == pytest.approx(50)
    assert 1.96 < beside.coverage_factor < 2.1
    assert Budget.of([("datum", 0.2)]).freedom == float("inf")


@pytest.mark.parametrize("true", [0.0, 0.05, 0.2])
def test_what_repeats_is_told_from_what_is_noise(true: float) -> None:
    """Five returns from each way, read to 0.05: the variance found is the true one on average, its ± is its scatter."""
    rng, noise, deviations, held = np.random.default_rng(41), 0.05, [], []
    for _ in range(2000):
        groups = np.hypot(true, noise) * rng.standard_normal((2, 5)) + [[1.0], [-1.0]]
        repeats = repeatability(groups.tolist(), noise)
        deviations.append(repeats.standard_uncertainty)
        held.append(abs(deviations[-1] - true) < coverage_factor(8) * deviation_of_repeatability(repeats, noise))
    assert repeats.freedom == 8
    assert np.sqrt(np.mean(np.square(deviations))) == pytest.approx(true, rel=0.1, abs=0.03)
    assert np.mean(held) >= 0.90, "a variance of eight degrees of freedom is skewed"
    assert np.quantile(deviations, 0.95) < true + 0.1, "a perfect flap does not come to 0.2"


def test_how_well_a_repeatability_is_known() -> None:
    """GUM E.4.3: a variance of ν degrees has √(2/ν) of itself. Five readings of 2² with noise 0: 4 + 4 √(2/4)."""
    spread = Row("repeatability", 2.0, 4)
    assert deviation_of_repeatability(spread, 0.0) == pytest.approx((4 + 4 * 0.5**0.5) ** 0.5 - 2)
    assert deviation_of_repeatability(spread, 1.0) == pytest.approx((4 + 5 * 0.5**0.5) ** 0.5 - 2)
    assert deviation_of_repeatability(repeatability([[3.0], [4.0]], 0.1), 0.1) == float("inf")
