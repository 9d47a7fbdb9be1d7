"""Two fins with dihedral, each a plate of points in space that turns about its hinge, and what a chip on it shows.

Nothing here knows a formula of the estimator: three points of a carrier are moved by the hands, the hinge and the
model, and gravity in the carrier is how high these points are above each other.
"""

from dataclasses import replace

import numpy as np
from tests.host.checks.conftest import COUNTS_PER_G
from tests.host.procedures.scene import Scene

from hingeline_calibration.datum import Datum

CHIP_NOISE_G = 400e-6 * np.sqrt(25)
"""Of a line of an MPU-6050, 400 µg/√Hz (PS-MPU-6000A, 6.2), at 50 lines a second."""


def turned(points, axis, deg):
    """Points (..., 3) turned about an axis through the origin (Rodrigues, 1840)."""
    axis, angle = np.asarray(axis) / np.linalg.norm(axis), np.radians(deg)
    along = (points @ axis)[..., None] * axis
    return along + np.cos(angle) * (points - along) + np.sin(angle) * np.cross(axis, points)


class VTail(Scene):
    """A scene whose hinges lean: left and right tip up by the dihedral. Body: x forward, y left, z up.

    A carrier's +x points left along the hinge, its +y, the arrow, aft. The scene's angles are trailing edge up, from
    the plane of the fin. Calibrations are off by a share of 1 g in each of their twelve parameters, as they state.
    `is_swapped`: each sensor sits on the other fin.
    """

    def __init__(self, dihedral_deg, askew_deg, roll_deg=0.0, *, seed=13, calibration_sd=0.0, sweep_deg=0.0):
        super().__init__("left", "right")
        self.dihedral_deg, self.askew_deg, self.roll_deg = dihedral_deg, askew_deg, roll_deg
        self._rng = np.random.default_rng(seed)
        sd_counts, stated = COUNTS_PER_G * calibration_sd, {"noise": np.eye(12) * (COUNTS_PER_G * calibration_sd) ** 2}
        self._errors = {each.side: self._rng.normal(0.0, sd_counts, (4, 3)) for each in self.instruments}
        self.instruments = tuple(
            replace(each, calibration=replace(each.calibration, covariance_parts=stated)) for each in self.instruments
        )
        self.on_flat, self.sweep_deg, self.is_swapped = False, sweep_deg, False

    def datum(self):
        """Both carriers on one flat."""
        self.on_flat = True
        flat = self.rests(left=0.0, right=0.0)
        self.on_flat = False
        gravities = {each.sensor_id: each.gravity(flat) for each in self.instruments}
        return Datum.take(gravities, "2026-01-01T00:00:00+00:00")

    def _counts(self, side, deflection_deg):
        edges = np.eye(3)  # the points (1, 0, 0), (0, 1, 0), (0, 0, 1) of the carrier, lid up, its +x to the left
        edges = edges @ np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
        heights = np.repeat(edges[None, :, 2], deflection_deg.size, axis=0)
        if not self.on_flat:
            lean = self.dihedral_deg * (1 if (side == "left") != self.is_swapped else -1)
            hinge = np.array([0.0, 1.0, 0.0])
            taped = turned(edges, [0.0, 0.0, 1.0], self.askew_deg[side])
            moved = turned(taped, hinge, deflection_deg[:, None, None])  # about +y: what is aft goes up
            tilted = turned(moved, [1.0, 0.0, 0.0], lean)  # about the nose: what is left goes up
            swept = turned(tilted, [0.0, 0.0, 1.0], self.sweep_deg * (1 if side == "left" else -1))  # tips aft
            heights = turned(swept, [1.0, 0.0, 0.0], self.roll_deg)[..., 2]
        counts = COUNTS_PER_G * (heights + self._rng.normal(0.0, CHIP_NOISE_G, heights.shape))
        errors = self._errors[side]
        return counts + heights @ errors[:3].T + errors[3]
