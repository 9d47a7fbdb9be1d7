"""Rotations in space, a unit quaternion each, with the method names of scipy's `Rotation`.

Scipy's own takes longer to import than a bench takes to start, and ten times as long for one vector. A test compares
the two.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Rotation:
    """A rotation, `w + xi + yj + zk`; `a * b` does b first."""

    w: float
    x: float
    y: float
    z: float

    @classmethod
    def identity(cls) -> Rotation:
        """No rotation."""
        return cls(1.0, 0.0, 0.0, 0.0)

    @classmethod
    def from_rotvec(cls, vector: Sequence[float] | Floats, degrees: bool = False) -> Rotation:
        """The turn about `vector` (3,) by its length, in rad or in degrees."""
        x, y, z = (math.radians(value) if degrees else float(value) for value in vector)
        angle = math.sqrt(x * x + y * y + z * z)
        share = math.sin(angle / 2) / angle if angle > 1e-12 else 0.5
        return cls(math.cos(angle / 2), share * x, share * y, share * z)

    @classmethod
    def from_euler(cls, axes: str, angles: Sequence[float] | float, degrees: bool = False) -> Rotation:
        """Turns about the axes named, each of the frame that the turns before it have turned ("ZXY": intrinsic)."""
        whole = cls.identity()
        for axis, angle in zip(axes, angles if isinstance(angles, Sequence) else (angles,), strict=True):
            vector = [0.0, 0.0, 0.0]
            vector["XYZ".index(axis)] = angle
            whole = whole * cls.from_rotvec(vector, degrees)
        return whole

    def __mul__(self, other: Rotation) -> Rotation:
        a, b, c, d = self.w, self.x, self.y, self.z
        e, f, g, h = other.w, other.x, other.y, other.z
        return Rotation(
            a * e - b * f - c * g - d * h,
            a * f + b * e + c * h - d * g,
            a * g - b * h + c * e + d * f,
            a * h + b * g - c * f + d * e,
        )

    def inv(self) -> Rotation:
        """The rotation back."""
        return Rotation(self.w, -self.x, -self.y, -self.z)

    def apply(self, vector: Sequence[float] | Floats) -> Floats:
        """The vector (3,) turned: v + 2w (q × v) + 2 q × (q × v)."""
        u, v, w = (float(value) for value in vector)
        r, s, t = self.y * w - self.z * v, self.z * u - self.x * w, self.x * v - self.y * u
        return np.array(
            [
                u + 2 * (self.w * r + self.y * t - self.z * s),
                v + 2 * (self.w * s + self.z * r - self.x * t),
                w + 2 * (self.w * t + self.x * s - self.y * r),
            ]
        )

    def as_matrix(self) -> Floats:
        """The matrix (3, 3) that does the same."""
        matrix: Floats = np.array([self.apply(unit) for unit in np.eye(3)]).T
        return matrix

    def as_rotvec(self) -> Floats:
        """The axis times the angle in rad, at most half a turn."""
        sign = -1.0 if self.w < 0 else 1.0
        sine = math.sqrt(self.x**2 + self.y**2 + self.z**2)
        share = 2 * math.atan2(sine, sign * self.w) / sine if sine > 1e-12 else 2.0
        vector: Floats = np.array([self.x, self.y, self.z]) * (sign * share)
        return vector
