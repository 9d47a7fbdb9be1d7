"""What an uncertainty comes from, and its cure: none where it is good enough."""

import pytest

from hingeline.measure.uncertainty import GOOD_DEG, limits_text
from hingeline_calibration.budget import Budget


@pytest.mark.parametrize(("uncertainty_deg", "cured"), [(0.015, False), (0.049, False), (0.2, True)])
def test_a_good_calibration_is_not_sent_back(uncertainty_deg, cured):
    """±0.03° at 95 % serves every tolerance; ±0.4° does not."""
    text = limits_text(Budget.of([("calibration noise", uncertainty_deg)]), enough=GOOD_DEG)
    assert text.startswith(f"limited by the calibration's noise: ±{1.96 * uncertainty_deg:.2f}°")
    assert ("calibrate again" in text) == cured


def test_only_what_matters_is_named_and_a_ruler_is_not_sent_back():
    """±0.27 mm of 0.137 mm; a third of the greatest source is 0.046 mm."""
    budget = Budget.of([("chord", 0.137), ("noise", 0.05), ("temperature", 0.04)])
    assert limits_text(budget, "mm") == "limited by your chord: ±0.27 mm, noise: ±0.10 mm"
