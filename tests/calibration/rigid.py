"""An aircraft of rigid points in space, for tests: none of its physics is that of the estimators.

World: X to the aircraft's left, Y aft, Z up. A hinge is the line through two points, a surface turns its points about
that line (Rodrigues), a carrier is three unit directions between its points. What a sensor shows is how much of up
lies along each of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hingeline_calibration.arrays import Array

UP = np.array([0.0, 0.0, 1.0])


def about(line: Array, points: Array, angle_deg: float | Array) -> Array:
    """Points (..., 3) turned about a unit direction (3,), right-handed; each of several angles (N,) turns all."""
    angle = np.radians(angle_deg)[:, None, None] if np.ndim(angle_deg) else np.radians(angle_deg)
    across = np.cross(np.broadcast_to(line, points.shape), points)
    along = (points @ line)[..., None] * line
    return np.asarray(points * np.cos(angle) + across * np.sin(angle) + along * (1 - np.cos(angle)))


@dataclass(frozen=True)
class Model:
    """An aircraft on its stand: angles of both hinges, mirrored; how it leans; how each carrier sits on its skin.

    `roll_deg` has the left wing up, `pitch_deg` the nose. `yaw_deg` is the tape's, `seat_deg` how far the base is off
    the skin along the hinge, each by side.
    """

    dihedral_deg: float = 0.0
    sweep_deg: float = 0.0
    roll_deg: float = 0.0
    pitch_deg: float = 0.0
    yaw_deg: tuple[float, float] = (0.0, 0.0)
    seat_deg: tuple[float, float] = (0.0, 0.0)

    def up(self, side: int, deflection_deg: Array) -> Array:
        """(N, 3) up in the carrier of the left (0) or right (1) side at deflections (N,), trailing edge up positive."""
        way = 1.0 if side == 0 else -1.0
        level, swept = np.radians([self.dihedral_deg, self.sweep_deg])
        tip = np.array([way * np.cos(level) * np.cos(swept), np.cos(level) * np.sin(swept), np.sin(level)])
        to_left = way * tip
        aft = np.cross(UP, to_left)
        aft /= np.linalg.norm(aft)
        normal = np.cross(to_left, aft)
        plate = np.array([to_left, aft, normal])
        seated = about(aft, plate, self.seat_deg[side])
        taped = about(seated[2], seated, self.yaw_deg[side])
        body = about(to_left, taped, np.atleast_1d(deflection_deg))
        body = about(np.array([0.0, 1.0, 0.0]), body, -self.roll_deg)
        return np.asarray(about(np.array([1.0, 0.0, 0.0]), body, -self.pitch_deg) @ UP)
