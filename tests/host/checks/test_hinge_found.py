"""How a sensor sits: its edge beside the hinge line, an angle that is no angle of the surface, a way back that is off.

Gravity is worked out by hand: a carrier that turns about the hinge keeps the part of up along it.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.host.checks.conftest import instrument

from hingeline.checks.hinge import back_text, doubt_of_seat, find_hinge, hinge_text
from hingeline.checks.results import HingeResult
from hingeline_calibration.budget import Budget
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, HingeAxis

LEFT = instrument("left")
FLAT = (0.0, 0.0, 1.0)


def gravity(*up_g):
    return Gravity(np.array(up_g), 1e-10 * np.eye(3), 25.0, 0.0, 1.0)


def turned(deg, lean_deg=0.0):
    """Up in a carrier turned by an angle about its x, and leaned along it."""
    across, along = math.cos(math.radians(lean_deg)), math.sin(math.radians(lean_deg))
    return gravity(along, across * math.sin(math.radians(deg)), across * math.cos(math.radians(deg)))


@pytest.mark.parametrize(("deg", "is_doubtful"), [(0, False), (90, False), (119, False), (121, True), (180, True)])
def test_no_surface_is_deflected_by_more_than_120_degrees(deg, is_doubtful):
    for sign in (1, -1):
        doubt = doubt_of_seat(LEFT, gravity(*FLAT), turned(sign * deg))
        assert (doubt is not None) == is_doubtful
        assert doubt is None or "more than any surface does" in doubt.reason


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("deg", "lean_deg", "is_doubtful"),
    # a model that lies firm leans by less than 0.3°; an edge 5° off adds sin 5° · 2 sin(δ/2): 2.58° at 30°
    [(0, 0.28, False), (0, 0.34, True), (30, 2.8, False), (30, 3.0, True)],
)
def test_a_lean_along_the_hinge_line_is_no_deflection(sign, deg, lean_deg, is_doubtful):
    doubt = doubt_of_seat(LEFT, gravity(*FLAT), turned(deg, sign * lean_deg))
    assert (doubt is not None) == is_doubtful
    assert doubt is None or f"it leaned by {lean_deg:.1f}° along the hinge line" in doubt.reason


def test_a_lean_counts_from_neutral_and_about_the_hinge_that_was_found():
    assert doubt_of_seat(LEFT, turned(0, 8), turned(20, 8.1)) is None
    yawed = replace(LEFT, hinge=HingeAxis((math.cos(math.radians(20)), math.sin(math.radians(20)), 0.0)))
    assert doubt_of_seat(yawed, gravity(*FLAT), turned(30)) is not None


def test_an_edge_off_the_hinge_line_is_found_and_told():
    """Up, seen from a carrier yawed by ψ, goes round (cos ψ, sin ψ, 0): x stays sin ψ · sin δ."""
    rng = np.random.default_rng(1)
    for yaw_deg, beyond in ((3.0, False), (-3.0, False), (12.0, True), (-12.0, True)):
        yaw, course = math.radians(yaw_deg), np.radians(np.linspace(-20, 20, 200))
        ups = np.stack([-math.sin(yaw) * np.sin(course), math.cos(yaw) * np.sin(course), np.cos(course)], axis=1)
        lines = [
            Gravity(up, 1e-6 * np.eye(3), 25.0, 0.02 * index, 0.02)
            for index, up in enumerate(ups + 1e-3 * rng.standard_normal(ups.shape))
        ]
        result = find_hinge(LEFT, lines, "flap")
        assert result.yaw_deg == pytest.approx(yaw_deg, abs=4 * result.axis.yaw_sd_deg)
        assert (result.surface, result.side, result.beyond) == ("flap", "left", beyond)
        assert (", more than 5°" in hinge_text(result)) == beyond
    assert find_hinge(LEFT, lines[:3], "flap") is None


def test_how_it_sits_is_told_with_two_deviations():
    axis = HingeAxis(yaw_sd_deg=0.25)
    result = HingeResult("flap", "left", "b-left", -7.0, beyond=True, axis=axis)
    assert hinge_text(result) == "left sensor b-left: its edge is off the hinge line by 7.0° ±0.5, more than 5°"


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize(
    ("off_deg", "sd_deg", "is_told"),
    # a third of the tolerance of 0.6°, or what 95 % of readings stay within: the larger
    [(0.19, 0.01, False), (0.21, 0.01, True), (0.38, 0.2, False), (0.41, 0.2, True)],
)
def test_a_side_that_came_back_off_is_told_beyond_tolerance_and_uncertainty(sign, off_deg, sd_deg, is_told):
    text = back_text("left", Deflection(sign * off_deg, Budget.of([("noise", sd_deg)])), 0.6)
    assert bool(text) == is_told
    assert not text or text.startswith(f"it came back {off_deg:.1f}° off")
