"""Deflection, travel, neutral and mismatch of rigid points in space, by coordinates alone.

A surface is a triangle: two points of its hinge line and one of its trailing edge. It has turned when that point has
gone elsewhere at the same distances from the other two. How far is then a matter of rulers: no rotation, no sine of an
angle that was put in, nothing of `simulate.py` or of the package on this side.

World, mm: X to the aircraft's left, Y aft, Z up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from hingeline_calibration.datum import Datum, mismatch
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import HingeAxis, turn_about
from hingeline_calibration.travel import travel_mm

from . import simulate as sim

UP = np.array([0.0, 0.0, 1.0])
DATE = "2026-03-01T10:00:00+00:00"


def unit(vector: np.ndarray) -> np.ndarray:
    return vector / math.sqrt(vector @ vector)


@dataclass(frozen=True)
class Triangle:
    """A surface: its hinge line from right to left, and a point of its trailing edge, each (3,) in mm."""

    right: np.ndarray
    left: np.ndarray
    edge: np.ndarray

    @property
    def along(self) -> np.ndarray:
        """The hinge line's direction, to the left."""
        return unit(self.left - self.right)

    @property
    def foot(self) -> np.ndarray:
        """The point of the hinge line that is nearest to the trailing edge's."""
        return self.right + ((self.edge - self.right) @ self.along) * self.along

    @property
    def chord_mm(self) -> float:
        """From hinge line to trailing edge."""
        return math.dist(self.edge, self.foot)

    def shown_up(self) -> np.ndarray:
        """(3,) what a carrier shows whose x lies along the hinge line, y along the chord, z across both."""
        aft = unit(self.edge - self.foot)
        return np.array([UP @ self.along, UP @ aft, UP @ np.cross(self.along, aft)])

    def moved(self, square_mm: float) -> Triangle:
        """The same triangle, its trailing edge gone up by so much square to the chord, and forward as it must."""
        aft = unit(self.edge - self.foot)
        back_mm = math.sqrt(self.chord_mm**2 - square_mm**2)
        return Triangle(self.right, self.left, self.foot + back_mm * aft + square_mm * unit(np.cross(self.along, aft)))


def angle_deg(before: Triangle, after: Triangle) -> float:
    """The law of cosines in the triangle of the foot and both places of the edge; up is positive."""
    ruler_mm, chord_mm = math.dist(before.edge, after.edge), before.chord_mm
    size = math.degrees(math.acos(1 - ruler_mm**2 / (2 * chord_mm**2)))
    return math.copysign(size, float((after.edge - before.edge) @ np.cross(before.along, before.edge - before.foot)))


def arc_mm(foot: np.ndarray, start: np.ndarray, end: np.ndarray, halvings: int = 12) -> float:
    """Length of the path from start to end about the foot: chords between points that are halved again and again."""
    if not halvings:
        return math.dist(start, end)
    middle = foot + math.dist(start, foot) * unit(start + end - 2 * foot)
    return arc_mm(foot, start, middle, halvings - 1) + arc_mm(foot, middle, end, halvings - 1)


SURFACES = {
    "level hinge": Triangle(np.array([0.0, 0, 0]), np.array([400.0, 0, 0]), np.array([200.0, 50, 0])),
    "dihedral 8°": Triangle(np.array([100.0, 0, 0]), np.array([496.0, 0, 55.7]), np.array([300.0, 60, 26])),
    "swept 20°": Triangle(np.array([50.0, 10, 5]), np.array([426.0, 147, 12]), np.array([210.0, 130, 4])),
    "tail of a V": Triangle(np.array([0.0, 0, 0]), np.array([164.0, 30, 115]), np.array([60.0, 75, 40])),
}


@pytest.mark.parametrize("surface", SURFACES.values(), ids=SURFACES)
@pytest.mark.parametrize("part", [-0.8, -0.3, 0.02, 0.5, 0.99])
def test_deflection_and_travel_are_what_rulers_say(surface: Triangle, part: float) -> None:
    """The trailing edge goes up or down by a part of the chord, square to it."""
    square_mm = part * surface.chord_mm
    now = surface.moved(square_mm)
    true_deg = angle_deg(surface, now)
    seen_deg = math.degrees(turn_about(sim.X, surface.shown_up(), now.shown_up()))
    assert seen_deg == pytest.approx(true_deg, abs=1e-6)
    ruler_mm = math.copysign(math.dist(surface.edge, now.edge), part)
    path_mm = math.copysign(arc_mm(surface.foot, surface.edge, now.edge), part)
    assert travel_mm(seen_deg, surface.chord_mm, "ruler") == pytest.approx(ruler_mm, abs=1e-6)
    assert travel_mm(seen_deg, surface.chord_mm, "height") == pytest.approx(square_mm, abs=1e-6)
    assert travel_mm(seen_deg, surface.chord_mm, "arc") == pytest.approx(path_mm, abs=1e-5)


def gravity(shown: np.ndarray) -> Gravity:
    return Gravity(shown, 1e-12 * np.eye(3), 25.0, 0.0, 1.0)


@pytest.mark.parametrize(("left_mm", "right_mm"), [(4.0, 4.0), (4.0, -2.0), (-6.5, 1.0)])
@pytest.mark.parametrize("chord_mm", [30.0, 50.0])
def test_neutral_and_mismatch_are_what_heights_say(left_mm: float, right_mm: float, chord_mm: float) -> None:
    """Level hinges; both carriers lay on the flat first. The trailing edges stand so many mm over the hinge lines.

    The slope of a chord is a right-angled triangle: height over chord. Left minus right is the difference of slopes.
    """
    calibration, shown, slopes_deg = sim.exact(), {}, {}
    for side, height_mm in (("left", left_mm), ("right", right_mm)):
        edge = np.array([200.0, math.sqrt(chord_mm**2 - height_mm**2), height_mm])
        shown[side] = gravity(Triangle(np.array([0.0, 0, 0]), np.array([400.0, 0, 0]), edge).shown_up())
        slopes_deg[side] = math.degrees(math.atan2(height_mm, math.sqrt(chord_mm**2 - height_mm**2)))
    flat = gravity(np.array([0.0, 0.0, 1.0]))
    datum = Datum.take({calibration.sensor_id: flat}, DATE)
    angles = {side: datum.angle(calibration.sensor_id, now, calibration, HingeAxis()) for side, now in shown.items()}
    for side, angle in angles.items():
        assert angle.deflection_deg == pytest.approx(slopes_deg[side], abs=1e-6)
    gap = mismatch(angles["left"], angles["right"])
    assert gap.deflection_deg == pytest.approx(slopes_deg["left"] - slopes_deg["right"], abs=1e-6)
