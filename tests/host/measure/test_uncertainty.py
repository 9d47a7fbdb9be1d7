"""What an uncertainty comes from, and its cure: none where it is good enough."""

import pytest

from hingeline.measure.uncertainty import GOOD_DEG, budget_text
from hingeline_calibration.budget import Budget


@pytest.mark.parametrize(("uncertainty_deg", "cured"), [(0.015, False), (0.049, False), (0.2, True)])
def test_a_good_calibration_is_not_sent_back(uncertainty_deg, cured):
    """±0.03° at 95 % serves every tolerance; ±0.4° does not."""
    text = budget_text(Budget.of([("calibration noise", uncertainty_deg)]), enough=GOOD_DEG)
    assert text.startswith(f"calibration noise {uncertainty_deg:.3f}°")
    assert ("calibrate again" in text) == cured
