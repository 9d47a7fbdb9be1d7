"""Uncertainties that add as squares, and means of what is known, by hand."""

from __future__ import annotations

import pytest

from hingeline_calibration.arrays import angle_between_deg, mean_of_known
from hingeline_calibration.budget import Budget


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
