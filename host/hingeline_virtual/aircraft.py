"""The aircraft: its attitude, its surfaces, carriers taped on them. Frames and signs: DEVELOPERS.md."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from hingeline_virtual.carrier import STANDARD_GRAVITY_M_S2, Floats, Pose
from hingeline_virtual.rotation import Rotation
from hingeline_virtual.scenario import Surface
from hingeline_virtual.surface import SurfaceState


def hinge_rotation(surface: Surface) -> Rotation:
    """The rotation from the hinge frame (x along the hinge, to the left; y aft) to the aircraft."""
    tip = -1.0 if surface.side == "right" else 1.0
    return Rotation.from_euler("ZY", [tip * surface.sweep_deg, -tip * surface.dihedral_deg], degrees=True)


def body_rotation(roll_deg: float, pitch_deg: float, heading_deg: float) -> Rotation:
    """The rotation from the aircraft to the world: heading, pitch (nose up), roll (left wing up)."""
    return Rotation.from_euler("ZXY", [heading_deg, -pitch_deg, -roll_deg], degrees=True)


def mounting(surface: Surface, yaw_deg: float, upside_down: bool) -> Rotation:
    """The rotation from a taped carrier to its surface: the skin, the yaw, which side is up."""
    turns = [surface.skin_slope_deg, surface.skin_taper_deg]
    on_skin = Rotation.from_euler("XY", turns, degrees=True) * Rotation.from_euler("Z", yaw_deg, degrees=True)
    return on_skin * Rotation.from_euler("Y", 180.0, degrees=True) if upside_down else on_skin


@dataclass(frozen=True)
class Taped(Pose):
    """Taped on a surface of the aircraft."""

    body: Pose
    surface: SurfaceState
    mount: Rotation

    def _hinge(self, time_s: float) -> Rotation:
        return self.body.rotation(time_s) * hinge_rotation(self.surface.settings)

    def rotation(self, time_s: float) -> Rotation:
        angle_deg = self.surface.linkage.state(time_s)[0]
        return self._hinge(time_s) * Rotation.from_euler("X", angle_deg, degrees=True) * self.mount

    def acceleration_g(self, time_s: float) -> Floats:
        """The aircraft's acceleration and that of the turn: along the arc and toward the hinge."""
        angle, rate, acceleration = np.radians(self.surface.linkage.state(time_s))
        outward = np.array([0.0, math.cos(angle), math.sin(angle)])
        along = np.array([0.0, -math.sin(angle), math.cos(angle)])
        arm_g = self.surface.settings.sensor_aft_mm / 1000 / STANDARD_GRAVITY_M_S2
        turning: Floats = self._hinge(time_s).apply(arm_g * (acceleration * along - rate**2 * outward))
        return self.body.acceleration_g(time_s) + turning

    def settled_s(self) -> float:
        return max(self.body.settled_s(), self.surface.linkage.settled_s)
