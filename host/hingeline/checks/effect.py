"""What a left/right mismatch does, as the aileron deflection that balances it: a guide to tolerance only."""

from __future__ import annotations

from math import acos, pi, sin

from hingeline.rig.sheet import Sheet
from hingeline.rig.surface import Surface
from hingeline.units import amount

ROLLS = ("aileron", "flaperon", "elevon")
"""Kinds of surface that balance a roll."""
ASSUMPTIONS = (
    "thin-aerofoil theory for plain, sealed flaps, small angles and attached flow",
    "every strip has one lift slope and one airspeed, without induced flow between the strips",
    "only roll is balanced: no yaw, no drag, no twist of the wing",
)
"""What the figures rest on; they overrate large deflections, gapped hinges and a tail in the wing's wake."""


def effect_text(sheet: Sheet, surface: str, mismatch_deg: float) -> str:
    """What a mismatch (left minus right) does in flight, with its assumptions; empty without the strips for it."""
    ailerons = (given for given in sheet.surfaces.values() if given.kind in ROLLS and roll_power_mm3(given))
    aileron, own = next(ailerons, None), sheet.surface(surface)
    if aileron is None or not roll_power_mm3(own):
        return ""
    aileron_deg = balancing_aileron_deg(mismatch_deg, own, aileron)
    rolls = "left" if mismatch_deg > 0 else "right"
    left, right = ("down", "up") if aileron_deg < 0 else ("up", "down")
    return (
        f"a mismatch of {amount(mismatch_deg)} rolls the model {rolls}; "
        f"left aileron {left} and right aileron {right} {amount(aileron_deg)} balances it. "
        f"A guide to tolerance, not a prediction of flight: {'; '.join(ASSUMPTIONS)}"
    )


def balancing_aileron_deg(mismatch_deg: float, surface: Surface, aileron: Surface) -> float:
    """The left aileron, the right one's opposite, that balances the roll of a mismatch; both surfaces have strips."""
    return -mismatch_deg * roll_power_mm3(surface) / (2 * roll_power_mm3(aileron))


def roll_power_mm3(surface: Surface) -> float:
    """Rolling moment for 1 rad of one side, over dynamic pressure and lift slope; 0 without a strip or a chord."""
    strip, chord_mm = surface.strip, surface.chord_mm
    if strip is None or chord_mm is None:
        return 0.0
    return effectiveness(chord_mm / strip.wing_chord_mm) * strip.span_mm * strip.wing_chord_mm * strip.arm_mm


def effectiveness(chord_fraction: float) -> float:
    """τ, the change of incidence that lifts as much as 1 rad of a plain flap, for the flap's part of the chord, 0 to 1.

    τ = 1 - (φ - sin φ) / π with cos φ = 2 F - 1: from Houghton and Carpenter, Aerodynamics for Engineering Students,
    5th ed., p. 183, eq. 4.52, after Glauert.
    """
    hinge_rad = acos(2 * chord_fraction - 1)
    return 1 - (hinge_rad - sin(hinge_rad)) / pi
