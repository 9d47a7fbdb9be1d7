"""The poses of a carrier, and the way from one to the next. Frames: DEVELOPERS.md; world X left, Y aft, Z up."""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hingeline_virtual.rotation import Rotation

Floats = NDArray[np.float64]
UP: Floats = np.array([0.0, 0.0, 1.0])
STANDARD_GRAVITY_M_S2 = 9.80665


class Pose(ABC):
    """A pose of a carrier: its rotation to the world and its acceleration at a scene time."""

    @abstractmethod
    def rotation(self, time_s: float) -> Rotation:
        """The rotation from the carrier frame to the world frame."""

    def acceleration_g(self, time_s: float) -> Floats:
        """The acceleration (3,) in g, world frame."""
        return np.zeros(3)

    def settled_s(self) -> float:
        """The scene time from which it is still; infinite if it never is."""
        return -math.inf


@dataclass(frozen=True)
class Resting(Pose):
    """Still, for good."""

    fixed: Rotation

    def rotation(self, time_s: float) -> Rotation:
        return self.fixed


class Shaking:
    """The tremor of a hand: a few sines of seeded phase, in turn and in acceleration."""

    _TURN_DEG = 4.0
    _ACCELERATION_G = 0.12

    def __init__(self, random: np.random.Generator) -> None:
        self._omega_s = 2 * np.pi * random.uniform(1.5, 9.0, size=(2, 3, 4))
        self._phase = random.uniform(0, 2 * np.pi, size=(2, 3, 4))

    def turn(self, time_s: float, share: float) -> Rotation:
        """The tremor's turn; `share` (0 to 1) scales it."""
        return Rotation.from_rotvec(share * self._TURN_DEG * self._sines(0, time_s), degrees=True)

    def acceleration_g(self, time_s: float, share: float) -> Floats:
        """The tremor's acceleration (3,) in g."""
        shaken: Floats = share * self._ACCELERATION_G * self._sines(1, time_s)
        return shaken

    def _sines(self, row: int, time_s: float) -> Floats:
        sines: Floats = np.sin(self._omega_s[row] * time_s + self._phase[row]).sum(axis=1)
        return sines


@dataclass(frozen=True)
class InHand(Pose):
    """Held in a hand, never still."""

    about: Rotation
    shaking: Shaking

    def rotation(self, time_s: float) -> Rotation:
        return self.about * self.shaking.turn(time_s, 1.0)

    def acceleration_g(self, time_s: float) -> Floats:
        return self.shaking.acceleration_g(time_s, 1.0)

    def settled_s(self) -> float:
        return math.inf


@dataclass(frozen=True)
class Carried(Pose):
    """Moved by a hand from one pose to another, lifted and set down gently; then in the other pose."""

    before: Pose
    after: Pose
    start_s: float
    over_s: float
    shaking: Shaking

    def _share(self, time_s: float) -> float:
        return min(max((time_s - self.start_s) / self.over_s, 0.0), 1.0)

    def rotation(self, time_s: float) -> Rotation:
        share = self._share(time_s)
        if share == 0.0:
            return self.before.rotation(time_s)
        if share == 1.0:
            return self.after.rotation(time_s)
        first = self.before.rotation(self.start_s)
        whole = (first.inv() * self.after.rotation(self.start_s + self.over_s)).as_rotvec()
        done = share**3 * (10 - 15 * share + 6 * share**2)
        return first * Rotation.from_rotvec(done * whole) * self.shaking.turn(time_s, _arch(share))

    def acceleration_g(self, time_s: float) -> Floats:
        share = self._share(time_s)
        if share == 0.0:
            return self.before.acceleration_g(time_s)
        if share == 1.0:
            return self.after.acceleration_g(time_s)
        return self.shaking.acceleration_g(time_s, _arch(share))

    def settled_s(self) -> float:
        return max(self.start_s + self.over_s, self.after.settled_s())


@dataclass
class Turned(Pose):
    """Turned from another pose, which may be replaced."""

    pose: Pose
    turn: Rotation

    def rotation(self, time_s: float) -> Rotation:
        return self.pose.rotation(time_s) * self.turn

    def acceleration_g(self, time_s: float) -> Floats:
        return self.pose.acceleration_g(time_s)

    def settled_s(self) -> float:
        return self.pose.settled_s()


def _arch(share: float) -> float:
    """A smooth bump: 0 at both ends, 1 in the middle."""
    return math.sin(math.pi * share) ** 2


def on_face(face: str, square_deg: tuple[float, float]) -> Rotation:
    """The rotation from carrier to world of a carrier laid on level ground with `face` up, at yaw 0.

    `square_deg` leans the up direction from the face's axis toward the next two axes (x to y to z to x).
    """
    axis = "xyz".index(face[1])
    sign = 1.0 if face[0] == "+" else -1.0
    up = np.zeros(3)
    up[axis] = sign
    up[(axis + 1) % 3] = math.tan(math.radians(square_deg[0]))
    up[(axis + 2) % 3] = math.tan(math.radians(square_deg[1]))
    return with_up(up)


def with_up(up: Floats) -> Rotation:
    """The rotation from carrier to world that brings the carrier's direction `up` to the plumb line.

    The shortest turn; for straight down, half a turn about x.
    """
    up = up / np.linalg.norm(up)
    axis = np.cross(up, UP)
    sine = float(np.linalg.norm(axis))
    if sine < 1e-12:
        return Rotation.identity() if up[2] > 0 else Rotation.from_rotvec([math.pi, 0, 0])
    return Rotation.from_rotvec(axis / sine * math.atan2(sine, float(up[2])))
