"""What an uncertainty comes from, and its cure: none where it is good enough."""

from dataclasses import replace

import numpy as np
import pytest
from tests.host.checks.conftest import COUNTS_PER_G, instrument

from hingeline.measure.uncertainty import (
    GOOD_DEG,
    limits_text,
    table_tilt_deg,
    telling,
    telling_budget,
    worst_square,
)
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


def test_a_source_of_a_third_of_the_greatest_is_named_and_a_lesser_one_is_not():
    budget = Budget.of([("noise", 0.3), ("carrier", 0.101), ("temperature", 0.099)])
    assert (
        limits_text(budget) == "limited by noise: ±0.59°, the carrier out of square: ±0.20°; hold it still for longer"
    )
    assert limits_text(Budget.of([])) == "limited by nothing"


@pytest.mark.parametrize(("tolerance", "is_telling"), [(0.57, True), (0.61, False)])
def test_an_uncertainty_beyond_a_third_of_the_tolerance_tells(tolerance, is_telling):
    """0.1 at one deviation, 0.196 at 95 %, is a third of 0.588."""
    assert telling(Budget.of([("noise", 0.06), ("carrier", 0.08)]), tolerance) is is_telling


def test_the_table_and_the_worst_face_of_a_calibration_are_told():
    """Only faces that were laid at two yaws tell of the table; the middle one of them counts."""
    tilts = {
        "+x": (0.3, 0.4, 0.01, 0.01),
        "+y": (0.0, 0.1, 0.01, 0.01),
        "+z": (0.6, 0.8, 0.01, 0.01),
        "-z": (9, 9, 1, 1),
    }
    square = {"+x": (0.03, 0.04, 0.01, 0.02), "-y": (-0.06, 0.08, 0.03, 0.01)}
    turned = [(face, yaw) for face in ("+x", "+y", "+z") for yaw in (0.0, 180.0)]
    poses = (*turned, ("-z", 0.0), (None, None))
    calibration = replace(instrument("left").calibration, table_tilt_deg=tilts, squareness_deg=square, poses=poses)
    assert table_tilt_deg(calibration) == pytest.approx(0.5)
    assert table_tilt_deg(replace(calibration, poses=(("+x", 0.0),))) is None
    assert worst_square(calibration) == ("-y", pytest.approx(0.1), 0.03)


def test_whatever_limits_is_to_be_cured_where_nothing_is_called_enough():
    assert limits_text(Budget.of([("noise", 0.001)])).endswith("; hold it still for longer")


@pytest.mark.parametrize("axis", range(3))
def test_what_a_calibration_leaves_of_45_degrees(axis):
    """An offset e tilts level by e across, and 45° by e cos 45° across, e sin 45° along: both by plane geometry.

    Along the hinge it tilts neither. 1 mg is 0.0573°.
    """
    covariance = np.zeros((12, 12))
    covariance[9 + axis, 9 + axis] = (1e-3 * COUNTS_PER_G) ** 2
    calibration = replace(instrument("left").calibration, covariance_parts={"noise": covariance})
    budget = telling_budget(calibration)
    expected_mg = (0.0, 1 - 0.70711, 0.70711)[axis]
    assert budget.standard_uncertainty == pytest.approx(expected_mg * 0.057296, abs=1e-5)
    assert {row.source for row in budget} <= {"noise"}, "nothing but the calibration is uncertain here"
