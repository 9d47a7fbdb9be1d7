"""Deflection and travel against geometry: tables computed apart from this code, the sine bar, the refusal."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from hingeline_calibration.errors import CalibrationError, HingeVertical
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, deflection, difference, turn_about
from hingeline_calibration.travel import CONVENTIONS, deflection_from_travel_deg, travel_mm, travel_slope_mm_per_deg

from . import simulate as sim

TRAVELS_AT_50_MM = {
    10: (8.716, 8.682, 8.727),
    20: (17.365, 17.101, 17.453),
    30: (25.882, 25.000, 26.180),
    45: (38.268, 35.355, 39.270),
    60: (50.000, 43.301, 52.360),
}
"""Ruler, height, arc."""


def turned(axis: object, neutral: object, angle_deg: float) -> np.ndarray:
    return sim.deflected(np.atleast_2d(axis), np.atleast_2d(neutral), np.array([angle_deg]))[0]


def still(vector: object, noise_g: float = 1e-4) -> Gravity:
    return Gravity(np.array(vector, float), np.eye(3) * noise_g**2, 25.0, 0.0, 1.0)


@pytest.fixture(scope="module")
def calibration():
    rng = np.random.default_rng(5)
    benches = sim.draw(rng, 1, "icm42688")
    return sim.calibrated(benches, sim.poses_of(benches, rng, sim.POSES["12+6"])[0])


@pytest.mark.parametrize("deflection_deg", TRAVELS_AT_50_MM)
@pytest.mark.parametrize("convention", CONVENTIONS)
def test_travel_table(deflection_deg: float, convention: str) -> None:
    expected = TRAVELS_AT_50_MM[deflection_deg][("ruler", "height", "arc").index(convention)]
    assert f"{travel_mm(deflection_deg, 50, convention):.3f}" == f"{expected:.3f}"
    assert travel_mm(-deflection_deg, 50, convention) == -travel_mm(deflection_deg, 50, convention)


def test_travel_an_expert_tries() -> None:
    """80 mm chord, 20°: 27.78 mm tip to tip, 27.36 mm height."""
    assert travel_mm(20, 80, "ruler") == pytest.approx(27.78, abs=0.005)
    assert travel_mm(20, 80, "height") == pytest.approx(27.36, abs=0.005)


@given(st.floats(-89, 89), st.floats(5, 500), st.sampled_from(CONVENTIONS))
def test_travel_and_back(deflection_deg: float, chord_mm: float, convention: str) -> None:
    there = travel_mm(deflection_deg, chord_mm, convention)
    assert deflection_from_travel_deg(there, chord_mm, convention) == pytest.approx(deflection_deg, abs=1e-9, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: travel_mm(10, 50, "thumb"), "convention 'thumb', expected one of ruler, height, arc"),
        (lambda: travel_mm(95, 50, "height"), "95°, expected at most 90°"),
        (lambda: deflection_from_travel_deg(51, 50, "height"), "51 mm .* at most 50 mm"),
        (lambda: deflection_from_travel_deg(5, 0, "ruler"), "chord of 0 mm"),
        (lambda: travel_mm(math.nan, 50, "ruler"), "nan°"),
    ],
)
def test_travels_that_cannot_be(call, words: str) -> None:
    with pytest.raises(CalibrationError, match=words):
        call()


def test_sine_bar() -> None:
    """200 mm on a stack of 34.73 mm is 10.00°."""
    rise = 34.73 / 200
    assert math.degrees(turn_about(sim.X, sim.Z, [0, rise, math.sqrt(1 - rise**2)])) == pytest.approx(10.00, abs=0.005)


def test_trailing_edge_up_is_positive() -> None:
    """DEVELOPERS.md: y points to the trailing edge; with the edge up, y has a part of up."""
    assert turn_about(sim.X, sim.Z, [0.0, math.sin(0.1), math.cos(0.1)]) == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("yaw_deg", "one_axis", "by_tangent"), [(2, -0.020, -0.015), (5, -0.126, -0.094), (10, -0.501, -0.378)]
)
def test_yawed_sensor(yaw_deg: float, one_axis: float, by_tangent: float) -> None:
    """True 30° about a level hinge: the wrong axis is off by the atan formula, the right one is exact.

    The one-axis formula asin(cos ψ sin δ), which reads a single axis of the sensor, is further off.
    """
    yaw = math.radians(yaw_deg)
    hinge = np.array([math.cos(yaw), math.sin(yaw), 0.0])
    now = turned(hinge, sim.Z, 30)
    assert math.degrees(turn_about(hinge, sim.Z, now)) == pytest.approx(30, abs=1e-9)
    assert math.degrees(turn_about(sim.X, sim.Z, now)) - 30 == pytest.approx(by_tangent, abs=0.0005)
    assert math.degrees(math.asin(now[1])) - 30 == pytest.approx(one_axis, abs=0.0005)


@pytest.mark.parametrize(("raised_deg", "error"), [(5, -0.117), (10, -0.466), (20, -1.85), (30, -4.10), (45, -8.91)])
def test_raised_hinge(raised_deg: float, error: float) -> None:
    """True 30°: exact about the hinge; the angle between gravity vectors is off as published."""
    hinge = np.array([math.cos(math.radians(raised_deg)), 0.0, math.sin(math.radians(raised_deg))])
    now = turned(hinge, sim.Z, 30)
    assert math.degrees(turn_about(hinge, sim.Z, now)) == pytest.approx(30, abs=1e-9)
    between = math.degrees(math.atan2(np.linalg.norm(np.cross(sim.Z, now)), sim.Z @ now))
    assert between - 30 == pytest.approx(error, abs=0.006)


@given(st.floats(-170, 170), st.floats(-60, 60), st.floats(0.5, 2))
def test_any_hinge_that_is_not_vertical(deflection_deg: float, raised_deg: float, length: float) -> None:
    hinge = Rotation.from_euler("zy", [17, raised_deg], degrees=True).apply(sim.X)
    now = length * turned(hinge, sim.Z, deflection_deg)
    assert math.degrees(turn_about(hinge, sim.Z, now)) == pytest.approx(deflection_deg, abs=1e-9)


def test_vertical_hinge_is_refused_with_its_cure(calibration) -> None:
    raised = math.radians(75)
    axis = HingeAxis((math.cos(raised), 0.0, math.sin(raised)))
    with pytest.raises(HingeVertical, match=r"15° from the plumb line.*Lay the model on its side"):
        deflection(still(sim.Z), still(sim.Z), calibration, axis)


def test_dihedral_of_45_degrees(calibration) -> None:
    """What a sceptic tries: hinge at 45°, true 30°: 30.0 ± 0.4°."""
    axis = HingeAxis((math.sqrt(0.5), 0.0, math.sqrt(0.5)), yaw_sd_deg=0.2, elevation_sd_deg=0.2)
    seen = deflection(still(sim.Z), still(turned(axis.direction, sim.Z, 30)), calibration, axis)
    assert seen.deflection_deg == pytest.approx(30, abs=0.4)
    assert seen.interval_deg[0] <= 30 <= seen.interval_deg[1]


def test_uncertainty_of_the_axis_is_that_of_many_axes(calibration) -> None:
    """Monte Carlo (GUM S1): a hinge with a level neutral errs in second order, one with dihedral in first."""
    rng = np.random.default_rng(6)
    for raised_deg in (0.0, 15.0):
        neutral = np.array([math.sin(math.radians(raised_deg)), 0.0, math.cos(math.radians(raised_deg))])
        axis = HingeAxis(yaw_sd_deg=2.0, elevation_sd_deg=1.0)
        yaw, elevation = np.radians([[2.0], [1.0]]) * rng.standard_normal((2, 4000))
        hinges = np.stack([np.cos(elevation) * np.cos(yaw), np.cos(elevation) * np.sin(yaw), np.sin(elevation)], axis=1)
        ups = sim.deflected(hinges, np.tile(neutral, (4000, 1)), np.full(4000, 40.0))
        errors = [math.degrees(turn_about(sim.X, neutral, up)) - 40 for up in ups]
        budget = dict(deflection(still(neutral), still(turned(sim.X, neutral, 40)), calibration, axis).budget.items())
        assert budget["hinge axis"] == pytest.approx(np.sqrt(np.mean(np.square(errors))), rel=0.1)


@pytest.mark.parametrize("deflection_deg", [30.0, -45.0])
def test_a_yaw_that_is_not_known_errs_in_second_order(deflection_deg: float) -> None:
    """Across a yawed edge a level hinge shows atan(cos ψ tan δ), so ψ²/2 sin δ cos δ less.

    The mean of ψ⁴ of a Gaussian yaw is 3σ⁴ (any textbook).
    """
    axis, yaw = HingeAxis(yaw_sd_deg=1.0, elevation_sd_deg=0.0), math.radians(1.0)
    seen = deflection(still(sim.Z), still(turned(sim.X, sim.Z, deflection_deg)), sim.exact(), axis)
    expected = 0.5 * math.sqrt(3) * yaw**2 * abs(math.sin(2 * math.radians(deflection_deg))) / 2
    assert dict(seen.budget.items())["hinge axis"] == pytest.approx(math.degrees(expected), rel=0.003)


def test_noise_of_a_deflection_is_the_bound(calibration) -> None:
    """Cramér-Rao: noise/√(2T) rad a reading whatever the angle; times √2 for two readings; 1/cos for dihedral."""
    for raised_deg, gain in ((0.0, 1.0), (45.0, math.sqrt(2))):
        neutral = np.array([math.sin(math.radians(raised_deg)), 0.0, math.cos(math.radians(raised_deg))])
        seen = deflection(still(neutral), still(turned(sim.X, neutral, 30)), calibration, HingeAxis())
        assert dict(seen.budget.items())["noise"] == pytest.approx(math.degrees(1e-4 * math.sqrt(2) * gain), rel=1e-6)


def test_no_deflection_cancels_the_calibration(calibration) -> None:
    """The error of the calibration is common to both positions: nothing of it in a reading of no deflection.

    What the chip repeats to is not: √2 times 0.1 mg at least.
    """
    seen = deflection(still(sim.Z), still(sim.Z), calibration)
    budget = dict(seen.budget.items())
    assert set(budget) == {"noise", "chip"}
    assert budget["chip"] == pytest.approx(np.degrees(np.sqrt(2) * 1e-3 * calibration.repeat.deviation_mg))
    assert calibration.repeat.deviation_mg >= 0.1


def test_a_covariance_that_rounding_left_below_zero_counts_nothing(calibration) -> None:
    """Kept to six digits, a part may come out a little below zero along some direction."""
    rounded = replace(calibration, covariance_parts={"table": -1e-9 * np.eye(12)})
    found = deflection(still([0, 0, 1]), still([0, 0.5, 0.9]), rounded)
    assert "table" not in dict(found.budget.items())


def test_travel_carries_its_budget(calibration) -> None:
    seen = deflection(still(sim.Z), still(turned(sim.X, sim.Z, 30)), calibration)
    there = seen.travel(50, "ruler", chord_sd_mm=0.5)
    assert there.travel_mm == pytest.approx(25.882, abs=0.01)
    slope_mm = math.radians(50 * math.cos(math.radians(15)))
    expected = math.hypot(slope_mm * seen.standard_uncertainty_deg, 0.5 * 25.882 / 50)
    assert there.standard_uncertainty_mm == pytest.approx(expected, rel=1e-3)
    assert there.interval_mm[0] < 25.882 < there.interval_mm[1]


def test_left_minus_right_adds_what_is_independent(calibration) -> None:
    left = deflection(still(sim.Z), still(turned(sim.X, sim.Z, 20)), calibration)
    right = deflection(still(sim.Z), still(turned(sim.X, sim.Z, 18)), calibration)
    gap = difference(left, right)
    assert gap.deflection_deg == pytest.approx(2)
    assert gap.standard_uncertainty_deg == pytest.approx(
        math.hypot(left.standard_uncertainty_deg, right.standard_uncertainty_deg)
    )


@pytest.mark.parametrize("convention", CONVENTIONS)
@pytest.mark.parametrize("deflection_deg", [-50.0, 0.0, 20.0])
def test_the_slope_of_a_travel_is_how_fast_it_grows(deflection_deg: float, convention: str) -> None:
    """By its difference over a hundredth of a degree either way."""
    ahead, behind = (travel_mm(deflection_deg + by_deg, 50.0, convention) for by_deg in (0.01, -0.01))
    slope = travel_slope_mm_per_deg(deflection_deg, 50.0, convention)
    assert slope == pytest.approx((ahead - behind) / 0.02, rel=1e-6)
