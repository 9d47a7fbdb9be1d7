"""Thin-aerofoil figures against the formula in print and against Glauert's integrals done by quadrature."""

from math import acos, cos, pi

import pytest
from scipy.integrate import quad

from hingeline.checks.effect import ASSUMPTIONS, balancing_aileron_deg, effect_text, effectiveness
from hingeline.rig import parse_sheet

# Houghton and Carpenter, Aerodynamics for Engineering Students, 5th ed., p. 183, eq. 4.52, cos φ = 2F - 1:
# CL = 2πα + 2(π - φ + sin φ)η. τ is what η counts for beside α, (π - φ + sin φ)/π: computed, the book has no table.
TAU = [
    (0.10, 0.39582),
    (0.20, 0.54982),
    (0.25, 0.60900),
    (0.30, 0.66075),
    (0.40, 0.74778),
    (0.50, 0.81831),
    (1.0, 1.0),
]
SHEET = parse_sheet(
    """
schema_version = 1
aircraft = "Even"
modes = ["normal"]
[surface.flap]
chord = "50 mm"
strip = { span = "500 mm", wing_chord = "200 mm", arm = "400 mm" }
[surface.aileron]
chord = "32 mm"
strip = { span = "500 mm", wing_chord = "160 mm", arm = "900 mm" }
[surface.elevator]
chord = "32 mm"
throws.normal = { up = "9 deg" }
""",
    "even",
)
FLAP, AILERON = SHEET.surface("flap"), SHEET.surface("aileron")


@pytest.mark.parametrize(("chord_fraction", "tau"), TAU)
def test_effectiveness(chord_fraction, tau):
    assert effectiveness(chord_fraction) == pytest.approx(tau, abs=0.000005)


@pytest.mark.parametrize("chord_fraction", [0.1, 0.25, 0.4, 0.7, 1.0])
def test_against_glauerts_integrals(chord_fraction):
    # A camber line that falls by 1 rad behind the hinge; with x = c/2 (1 - cos θ) the hinge is at
    # cos θ = 2F - 1.
    hinge = acos(2 * chord_fraction - 1)

    def coefficient(n):
        return quad(lambda theta: cos(n * theta), hinge, pi)[0] * (2 if n else 1) / pi

    # dz/dx = -1 there: α - A0 = -(1/π)∫, An = -(2/π)∫
    a0, a1 = coefficient(0), -coefficient(1)
    assert effectiveness(chord_fraction) == pytest.approx((2 * pi * (a0 + a1 / 2)) / (2 * pi), abs=1e-9)


@pytest.mark.parametrize("mismatch_deg", [0.5, -0.5])
def test_balance_is_a_balance(mismatch_deg):
    aileron_deg = balancing_aileron_deg(mismatch_deg, FLAP, AILERON)

    def roll(surface, left_deg, right_deg):
        strip = surface.strip
        tau = dict(TAU)[surface.chord_mm / strip.wing_chord_mm]
        return tau * strip.span_mm * strip.wing_chord_mm * strip.arm_mm * (left_deg - right_deg)

    flaps = roll(FLAP, mismatch_deg, 0.0)
    ailerons = roll(AILERON, aileron_deg, -aileron_deg)
    assert flaps + ailerons == pytest.approx(0.0, abs=1e-4 * abs(flaps))


def test_words_say_the_assumptions():
    text = effect_text(SHEET, "flap", 0.5)
    assert text.startswith(
        "a mismatch of 0.50° rolls the model left; left aileron down and right aileron up 0.15° balances it"
    )
    assert all(assumption in text for assumption in ASSUMPTIONS)
    assert "A guide to tolerance, not a prediction of flight" in text
    assert "rolls the model right; left aileron up and right aileron down" in effect_text(SHEET, "flap", -0.5)


def test_without_a_strip_nothing_is_said():
    assert effect_text(SHEET, "elevator", 0.5) == ""
