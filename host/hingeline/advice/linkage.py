"""The linkage from servo arm to horn: a four-bar chain in the plane across the hinge.

The plane is that of DEVELOPERS.md seen along the hinge from the left tip: aft to the right, up is up, the
origin on the hinge axis. Angles are measured from aft toward up, so a servo angle and a deflection are
positive where they turn counter-clockwise. With arm and horn on one side of the surface, a positive servo
angle is trailing edge up.
"""

from __future__ import annotations

from cmath import phase, rect
from dataclasses import dataclass, replace
from math import acos, atan2, copysign, cos, degrees, hypot, radians, remainder, sin
from typing import Literal

from hingeline.errors import LinkageBinds


def four_bar_deg(
    crank_mm: float, coupler_mm: float, rocker_mm: float, ground_mm: float, crank_deg: float
) -> tuple[float, float]:
    """Both angles of the rocker, in -180 to 180°, for an angle of the crank.

    Angles count from the line that leads from the crank's pivot to the rocker's. The first is the branch with the
    rocker to the left of the line from its pivot to the crank's pin. Raises `LinkageBinds` where the coupler is too
    short or too long for that crank angle.

    Notes
    -----
    Freudenstein's equation, with crank a, coupler b, rocker c, ground d::

        d/a cos θ4 - d/c cos θ2 + (a² - b² + c² + d²) / 2ac = cos(θ2 - θ4)

    With cos(θ2 - θ4) expanded it is p cos θ4 + q sin θ4 = r, solved by atan2(q, p) ± acos(r / hypot(p, q)).
    """
    a, b, c, d = crank_mm, coupler_mm, rocker_mm, ground_mm
    crank = radians(crank_deg)
    p = cos(crank) - d / a
    q = sin(crank)
    r = (a * a - b * b + c * c + d * d) / (2 * a * c) - d / c * cos(crank)
    reach = hypot(p, q)
    if abs(r) > reach:
        raise LinkageBinds(
            f"a rod of {b:.1f} mm can't join levers of {a:.1f} and {c:.1f} mm on pivots {d:.1f} mm apart "
            f"with the first at {crank_deg:.1f}° to the line between them",
            "Measure arm, horn and rod again, from pin to pin; if they are right, the linkage binds: "
            "use less servo travel or a longer horn",
        )
    middle, swing = atan2(q, p), acos(r / reach)
    return remainder(degrees(middle + swing), 360), remainder(degrees(middle - swing), 360)


@dataclass(frozen=True)
class Linkage:
    """A servo arm, a rod and a horn, as they are with the servo centred and the surface at its neutral.

    The arm is from servo shaft to the hole in it, the horn from hinge axis to its hole, the shaft as seen from the
    hinge axis. The rod, from pin to pin, alone decides where the surface stands with the servo centred.
    """

    arm_mm: float
    arm_deg: float
    horn_mm: float
    horn_deg: float
    rod_mm: float
    shaft_aft_mm: float
    shaft_up_mm: float

    @classmethod
    def square(cls, arm_mm: float, horn_mm: float, rod_mm: float, side: Literal["top", "bottom"] = "top") -> Linkage:
        """The linkage as it should be: arm and horn square to the rod, on one side of the surface.

        The servo is ahead of the hinge and the horn hole over the hinge axis.
        """
        up = {"top": 1, "bottom": -1}[side]
        return cls(arm_mm, up * 90.0, horn_mm, up * 90.0, rod_mm, -rod_mm, up * (horn_mm - arm_mm))

    def leaning_aft(self, arm_deg: float, horn_deg: float = 0.0) -> Linkage:
        """With the arm put on its spline further aft, and the horn too, the rod adjusted to the same neutral."""
        clockwise = copysign(1.0, sin(radians(self.arm_deg)))
        arm, horn = self.arm_deg - clockwise * arm_deg, self.horn_deg - clockwise * horn_deg
        return replace(self, arm_deg=arm, horn_deg=horn).at_neutral()

    def hole_aft(self, aft_mm: float) -> Linkage:
        """With the horn hole that much further aft, the rod adjusted to the same neutral."""
        hole_mm = self._horn_hole_mm(0.0) + aft_mm
        return replace(self, horn_mm=abs(hole_mm), horn_deg=degrees(phase(hole_mm))).at_neutral()

    def at_neutral(self) -> Linkage:
        """With the rod adjusted so that the surface is at its neutral with the servo centred."""
        return replace(self, rod_mm=self.rod_for_mm(0.0))

    def rod_for_mm(self, deflection_deg: float) -> float:
        """Length of the rod that holds the surface there with the servo centred."""
        return abs(self._horn_hole_mm(deflection_deg) - self._arm_pin_mm(0.0))

    def deflection_deg(self, servo_deg: float) -> float:
        """Deflection of the surface for a servo angle, both from the drawn neutral. Raises `LinkageBinds`."""
        at_rest = self._deflections_deg(0.0)
        branch = min((0, 1), key=lambda index: abs(at_rest[index]))
        return self._deflections_deg(servo_deg)[branch]

    def servo_deg(self, deflection_deg: float) -> float:
        """Servo angle for a deflection: the same chain, driven from the horn."""
        horn, arm = (self.horn_mm, self.horn_deg), (self.arm_mm, self.arm_deg)
        driven = Linkage(*horn, *arm, self.rod_mm, -self.shaft_aft_mm, -self.shaft_up_mm)
        return driven.deflection_deg(deflection_deg)

    def ratio(self, servo_deg: float) -> float:
        """How many degrees the surface turns for one of the servo, at a servo angle.

        dθ4/dθ2 = a sin(θ2 - θ3) / (c sin(θ4 - θ3)), θ3 the rod's direction: both pins share one speed along it.
        """
        deflection_deg = self.deflection_deg(servo_deg)
        rod = phase(self._horn_hole_mm(deflection_deg) - self._arm_pin_mm(servo_deg))
        arm, horn = radians(self.arm_deg + servo_deg), radians(self.horn_deg + deflection_deg)
        return self.arm_mm * sin(arm - rod) / (self.horn_mm * sin(horn - rod))

    def off_dead_centre_deg(self, deflection_deg: float) -> float:
        """How far arm and rod, or rod and horn, are at least from one line where the surface stands there.

        On one line a lever turns no further, however hard it is pulled. Raises `LinkageBinds`.
        """
        servo_deg = self.servo_deg(deflection_deg)
        rod_deg = degrees(phase(self._horn_hole_mm(deflection_deg) - self._arm_pin_mm(servo_deg)))
        levers_deg = (self.arm_deg + servo_deg, self.horn_deg + deflection_deg)
        return min(abs(remainder(lever_deg - rod_deg, 180)) for lever_deg in levers_deg)

    def _deflections_deg(self, servo_deg: float) -> tuple[float, float]:
        ground_mm = complex(-self.shaft_aft_mm, -self.shaft_up_mm)
        ground_deg = degrees(phase(ground_mm))
        crank_deg = self.arm_deg + servo_deg - ground_deg
        rocker = four_bar_deg(self.arm_mm, self.rod_mm, self.horn_mm, abs(ground_mm), crank_deg)
        first, second = (remainder(angle + ground_deg - self.horn_deg, 360) for angle in rocker)
        return first, second

    def _arm_pin_mm(self, servo_deg: float) -> complex:
        """Aft and up of the hinge axis are the real and the imaginary part."""
        return complex(self.shaft_aft_mm, self.shaft_up_mm) + rect(self.arm_mm, radians(self.arm_deg + servo_deg))

    def _horn_hole_mm(self, deflection_deg: float) -> complex:
        return rect(self.horn_mm, radians(self.horn_deg + deflection_deg))
