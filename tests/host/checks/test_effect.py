"""Thin-aerofoil figures against the published table and against Glauert's integrals done by quadrature."""

from math import acos, cos, pi, radians

import pytest
from hingeline.advice.mismatch import ASSUMPTIONS, Strip, balance, effectiveness, moment_slope_per_rad
from scipy.integrate import quad

# Thin-aerofoil plain flap, τ = 1 - (φ - sin φ)/π, cos φ = 2F - 1. Source: Glauert; Houghton and Carpenter, eq. 4.52.
TAU = [
    (0.10, 0.39582),
    (0.20, 0.54982),
    (0.25, 0.60900),
    (0.30, 0.66075),
    (0.40, 0.74778),
    (0.50, 0.81831),
    (1.0, 1.0),
]
FLAP = Strip(span_mm=500.0, wing_chord_mm=200.0, surface_chord_mm=50.0, arm_mm=400.0)
AILERON = Strip(span_mm=500.0, wing_chord_mm=160.0, surface_chord_mm=32.0, arm_mm=900.0)


@pytest.mark.parametrize(("chord_fraction", "tau"), TAU)
def test_effectiveness(chord_fraction, tau):
    assert effectiveness(chord_fraction) == pytest.approx(tau, abs=0.000005)


def test_moment_slope():
    # ½ sin φ (cos φ - 1) at F = 0.25. Source: Glauert, as above.
    assert moment_slope_per_rad(0.25) == pytest.approx(-0.6495, abs=0.00005)


@pytest.mark.parametrize("chord_fraction", [0.1, 0.25, 0.4, 0.7, 1.0])
def test_against_glauerts_integrals(chord_fraction):
    # A camber line that falls by 1 rad behind the hinge; with x = c/2 (1 - cos θ) the hinge is at
    # cos θ = 2F - 1.
    hinge = acos(2 * chord_fraction - 1)

    def coefficient(n):
        return quad(lambda theta: cos(n * theta), hinge, pi)[0] * (2 if n else 1) / pi

    # dz/dx = -1 there: α - A0 = -(1/π)∫, An = -(2/π)∫
    a0, a1, a2 = coefficient(0), -coefficient(1), -coefficient(2)
    assert effectiveness(chord_fraction) == pytest.approx((2 * pi * (a0 + a1 / 2)) / (2 * pi), abs=1e-9)
    assert moment_slope_per_rad(chord_fraction) == pytest.approx(-pi / 4 * (a1 - a2), abs=1e-9)


@pytest.mark.parametrize("mismatch_deg", [0.5, -0.5])
def test_balance_is_a_balance(mismatch_deg):
    found = balance(mismatch_deg, FLAP, AILERON)

    def roll(strip, left_deg, right_deg):
        tau = dict(TAU)[strip.chord_fraction]
        return tau * strip.span_mm * strip.wing_chord_mm * strip.arm_mm * (left_deg - right_deg)

    flaps = roll(FLAP, mismatch_deg, 0.0)
    ailerons = roll(AILERON, found.aileron_deg, -found.aileron_deg)
    assert flaps + ailerons == pytest.approx(0.0, abs=1e-4 * abs(flaps))
    # the higher left flap lifts less: ΔCm of a flap that is down is negative, so up is nose-up
    assert found.pitching_moment == pytest.approx(0.6495 * radians(mismatch_deg), abs=1e-6)


def test_words_say_the_assumptions():
    text = balance(0.5, FLAP, AILERON).text()
    assert text.startswith(
        "a mismatch of 0.50° rolls the model left; left aileron down and right aileron up 0.15° balances it"
    )
    assert all(assumption in text for assumption in ASSUMPTIONS)
    assert "A guide to tolerance, not a prediction of flight" in text
    assert "rolls the model right; left aileron up and right aileron down" in balance(-0.5, FLAP, AILERON).text()
