"""What a left/right mismatch does, as the aileron deflection that balances it: a guide to tolerance only."""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, pi, radians, sin

from hingeline.units import amount

ASSUMPTIONS = (
    "thin-aerofoil theory for plain, sealed flaps, small angles and attached flow",
    "every strip has one lift slope and one airspeed, without induced flow between the strips",
    "only roll is balanced: no yaw, no drag, no twist of the wing",
)
"""What the figures rest on; they overrate large deflections, gapped hinges and a tail in the wing's wake."""


@dataclass(frozen=True)
class Strip:
    """The part of the wing or tail that a surface spans on one side; chords in the middle of the surface.

    The wing's chord is leading to trailing edge, the surface's hinge axis to trailing edge. The arm is from the
    aircraft's centre line to the middle of the surface.
    """

    span_mm: float
    wing_chord_mm: float
    surface_chord_mm: float
    arm_mm: float

    @property
    def chord_fraction(self) -> float:
        """The surface's chord as a part of the whole chord."""
        return self.surface_chord_mm / self.wing_chord_mm

    @property
    def roll_power_mm3(self) -> float:
        """Rolling moment for 1 rad of the surface, over dynamic pressure and lift slope."""
        return effectiveness(self.chord_fraction) * self.span_mm * self.wing_chord_mm * self.arm_mm


@dataclass(frozen=True)
class Balance:
    """The effect of a mismatch, left minus right: the left aileron, the right one's opposite, that balances its roll.

    `pitching_moment` is the difference of the strips' moment coefficients about their quarter chords, left minus right:
    it twists a soft wing.
    """

    mismatch_deg: float
    aileron_deg: float
    pitching_moment: float

    def text(self) -> str:
        """The effect in words, with its assumptions."""
        rolls = "left" if self.mismatch_deg > 0 else "right"
        left, right = ("down", "up") if self.aileron_deg < 0 else ("up", "down")
        return (
            f"a mismatch of {amount(self.mismatch_deg)} rolls the model {rolls}; "
            f"left aileron {left} and right aileron {right} {amount(self.aileron_deg)} balances it. "
            f"A guide to tolerance, not a prediction of flight: {'; '.join(ASSUMPTIONS)}"
        )


def balance(mismatch_deg: float, surface: Strip, aileron: Strip) -> Balance:
    """What balances a mismatch, left minus right, of any surface with two sides; the strips are of one side each."""
    aileron_deg = -mismatch_deg * surface.roll_power_mm3 / (2 * aileron.roll_power_mm3)
    # the theory's deflection is positive downward
    pitching_moment = -moment_slope_per_rad(surface.chord_fraction) * radians(mismatch_deg)
    return Balance(mismatch_deg, aileron_deg, pitching_moment)


def effectiveness(chord_fraction: float) -> float:
    """τ, the change of incidence that lifts as much as 1 rad of a plain flap, for the flap's part of the chord, 0 to 1.

    τ = 1 - (φ - sin φ) / π with cos φ = 2 F - 1: Glauert; Houghton and Carpenter, Aerodynamics for
    Engineering Students, eq. 4.52.
    """
    hinge_rad = acos(2 * chord_fraction - 1)
    return 1 - (hinge_rad - sin(hinge_rad)) / pi


def moment_slope_per_rad(chord_fraction: float) -> float:
    """Change of Cm about the quarter chord for 1 rad of a plain flap, down positive: ½ sin φ (cos φ - 1), as above."""
    return sin(acos(2 * chord_fraction - 1)) * (chord_fraction - 1)
