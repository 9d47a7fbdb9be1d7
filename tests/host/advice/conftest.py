"""A linkage by intersecting circles, to check the solver with and to play the aircraft."""

from dataclasses import dataclass
from math import atan2, cos, degrees, hypot, radians, sin, sqrt

import pytest

STEP_DEG = 1.0


@dataclass
class CircleLinkage:
    """Points and circles: the horn's hole is on a circle about the hinge line and on one about the arm's pin.

    Of the two crossings the one nearer to the last position is taken, as a real linkage moves.
    """

    shaft_mm: tuple[float, float]
    arm_mm: float
    arm_deg: float
    hole_mm: tuple[float, float]  # at deflection 0
    rod_mm: float

    @classmethod
    def built(cls, arm_mm, horn_mm, rod_mm, *, side=1, lean_aft_deg=0.0, hole_aft_mm=0.0, shaft_lift_mm=0.0):
        """Servo ahead, arm and horn upright on `side` (+1 top, -1 bottom), then faults; rod for neutral."""
        shaft_mm = (-rod_mm, side * (horn_mm - arm_mm) + shaft_lift_mm)
        linkage = cls(shaft_mm, arm_mm, side * (90 - lean_aft_deg), (hole_aft_mm, side * horn_mm), rod_mm)
        linkage.rod_mm = linkage.rod_for_mm(0.0)
        return linkage

    def pin_mm(self, servo_deg):
        arm = radians(self.arm_deg + servo_deg)
        return self.shaft_mm[0] + self.arm_mm * cos(arm), self.shaft_mm[1] + self.arm_mm * sin(arm)

    def rod_for_mm(self, deflection_deg):
        hole = turned(self.hole_mm, deflection_deg)
        pin = self.pin_mm(0.0)
        return hypot(hole[0] - pin[0], hole[1] - pin[1])

    def deflection_deg(self, servo_deg):
        hole = self.hole_mm
        # first from the drawn rod to the present one, then along the servo's travel
        drawn_mm = self.rod_for_mm(0.0)
        for share in steps(abs(self.rod_mm - drawn_mm) / 0.2):
            hole = self._crossing(self.pin_mm(0.0), drawn_mm + share * (self.rod_mm - drawn_mm), hole)
        for share in steps(abs(servo_deg) / STEP_DEG):
            hole = self._crossing(self.pin_mm(share * servo_deg), self.rod_mm, hole)
        x0, y0 = self.hole_mm
        sine, cosine = x0 * hole[1] - y0 * hole[0], x0 * hole[0] + y0 * hole[1]
        return degrees(atan2(sine, cosine))

    def _crossing(self, pin, rod_mm, last):
        distance = hypot(*pin)
        horn_mm = hypot(*self.hole_mm)
        along = (distance**2 + horn_mm**2 - rod_mm**2) / (2 * distance)
        across = sqrt(horn_mm**2 - along**2)
        unit = (pin[0] / distance, pin[1] / distance)
        both = [
            (along * unit[0] - sign * across * unit[1], along * unit[1] + sign * across * unit[0]) for sign in (1, -1)
        ]
        return min(both, key=lambda hole: hypot(hole[0] - last[0], hole[1] - last[1]))


def turned(point, angle_deg):
    c, s = cos(radians(angle_deg)), sin(radians(angle_deg))
    return point[0] * c - point[1] * s, point[0] * s + point[1] * c


def steps(count):
    return [(k + 1) / (int(count) + 1) for k in range(int(count) + 1)]


@pytest.fixture(scope="session")
def circle_linkage():
    return CircleLinkage
