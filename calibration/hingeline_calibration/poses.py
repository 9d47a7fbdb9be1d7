"""Poses: which face is up, and whether a reading is of the pose that it is taken for."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hingeline_calibration.arrays import Array
from hingeline_calibration.chips import RANGE_G
from hingeline_calibration.errors import RepeatedPose, SaturatedAxis, StuckAxis, WrongCountsPerG, WrongFace
from hingeline_calibration.still import Reading

FACES = ("+x", "-x", "+y", "-y", "+z", "-z")
"""The faces of the carrier, each named by the axis that points up."""
FACE_WORDS = {
    "+x": "left end up",
    "-x": "right end up",
    "+y": "arrow up",
    "-y": "arrow down",
    "+z": "lid up",
    "-z": "lid down",
}
"""How a person calls them; left and right are as the carrier sits on the wing, seen from behind."""
LEANED = None
"""The face of a leaning pose: on none, at any slope, unmeasured."""
_FACE_OFF_AXIS = 0.2
"""Largest share of gravity on the other two axes of a face: 0.17 from the worst chip, 0.34 leaned by 20°."""
_NOISES = 5.0
"""Standard deviations of a difference that noise does not reach."""
_LENGTH_LIMITS_G = (0.75, 1.25)
"""|gravity| before calibration; 0.86 to 1.14 from the worst chip (80 mg, 3 %, 2 %)."""


def face_up(face: str) -> Array:
    """Unit vector (3,) of a face's up direction, carrier frame."""
    up = np.zeros(3)
    up["xyz".index(face[1])] = 1.0 if face[0] == "+" else -1.0
    return up


def face_axes(face: str) -> Array:
    """The two horizontal axes (3, 2) of a face, right-handed with up, by which its tilts are counted."""
    first, second = {"x": (1, 2), "y": (2, 0), "z": (0, 1)}[face[1]]
    axes = np.zeros((3, 2))
    axes[first, 0] = 1.0
    axes[second, 1] = 1.0 if face[0] == "+" else -1.0
    return axes


def from_pairs(mean_counts: Mapping[str, ArrayLike]) -> tuple[Array, Array]:
    """Matrix (3, 3) and bias (3,) from the mean counts (3,) of each of the six faces.

    Column j of the matrix is half the difference of the pair of axis j. Element i of the bias is the middle of reading
    i over the pair of axis i: a tilt of the pair changes it in second order only, the mean of all six in first order.
    """
    counts = np.array([np.asarray(mean_counts[face], float) for face in FACES])
    up, down = counts[0::2], counts[1::2]
    return (up - down).T / 2, np.diag(up + down) / 2


@dataclass(frozen=True, eq=False)
class TakenPose:
    """The face up in a pose and its yaw, both None for a leaning one, and what the sensor showed in it.

    Yaw is the turn from where the face was first laid, counter-clockwise from above.
    """

    reading: Reading
    face: str | None
    yaw_deg: float | None

    @property
    def name(self) -> str:
        """Words for the pose."""
        return pose_name(self.face, self.yaw_deg)


def pose_name(face: str | None, yaw_deg: float | None) -> str:
    """Words for a pose, such as "lid up, turned 180°"."""
    if face is None:
        return "leaning"
    return FACE_WORDS[face] + (f", turned {yaw_deg:g}°" if yaw_deg else "")


def recognise(reading: Reading, counts_per_g: float) -> str | None:
    """The face that is up, by uncalibrated counts; None for a leaning pose.

    Raises
    ------
    WrongCountsPerG
        |gravity| is far from 1 g.
    """
    gravity_g = [value / counts_per_g for value in reading.mean_counts.tolist()]
    length_g = math.hypot(*gravity_g)
    low_g, high_g = _LENGTH_LIMITS_G
    if not low_g <= length_g <= high_g:
        raise WrongCountsPerG(
            f"|gravity| of {length_g:.2f} g at {counts_per_g:g} counts per g, expected {low_g} to {high_g} g",
            "Check the chip's range and the counts per g that the board announces; a broken chip shows the same",
        )
    axis = max(range(3), key=lambda index: abs(gravity_g[index]))
    if length_g**2 - gravity_g[axis] ** 2 > (_FACE_OFF_AXIS * length_g) ** 2:
        return LEANED
    return ("+" if gravity_g[axis] > 0 else "-") + "xyz"[axis]


def check_reading(reading: Reading, counts_per_g: float) -> None:
    """Refuse a reading with an axis at the end of its range. Raises `SaturatedAxis`."""
    share, axis = max(zip((abs(value) / counts_per_g for value in reading.mean_counts.tolist()), "xyz", strict=True))
    if 0.99 * RANGE_G <= share <= 1.05 * RANGE_G:
        raise SaturatedAxis(
            f"axis {axis} reads {share:.2f} g, the end of its range of {RANGE_G:g} g, expected at most 1.2 g",
            "Check the chip; if it reads so in every position, replace it or correct the counts per g of its board",
        )


def check_axes(readings: Sequence[Reading], counts_per_g: float) -> None:
    """Refuse an axis that stays the same, within noise, while the others show now most of gravity and now little of it.

    Raises
    ------
    StuckAxis
        Names the axis.
    """
    counts = np.array([reading.mean_counts for reading in readings])
    noise = np.diag(np.mean([reading.covariance_counts2 for reading in readings], axis=0))
    spread = np.ptp(counts, axis=0)
    stuck = [
        axis
        for axis in np.flatnonzero(spread <= _NOISES * np.sqrt(2 * noise))
        if np.ptp(np.linalg.norm(np.delete(counts, axis, axis=1), axis=1)) > 0.5 * counts_per_g
    ]
    if stuck:
        names = " or ".join("xyz"[axis] for axis in stuck)
        raise StuckAxis(
            f"axis {names} reads {counts[0, stuck[0]] / counts_per_g:.3f} g in every position, expected a change",
            "Check the solder joints and the chip; replace it",
        )


def check_claim(reading: Reading, face: str | None, counts_per_g: float) -> None:
    """Refuse a pose in which another face is up than the one named. Raises `WrongFace`."""
    shown = recognise(reading, counts_per_g)
    if shown == face:
        return
    mistake = "upside down" if shown and face and shown[1] == face[1] else "another pose"
    raise WrongFace(
        f"{mistake}: the sensor shows {pose_name(shown, None)}, expected {pose_name(face, None)}",
        (f"Lay the carrier {FACE_WORDS[face]}" if face else "Lean the carrier, 30 to 60° steep")
        + "; if it lies so, the sensor is fixed in it another way round",
    )


def check_distinct(poses: Sequence[TakenPose]) -> None:
    """Refuse a pose that was done before, or a sensor not moved since an earlier pose. Raises `RepeatedPose`."""
    stretches: dict[float, TakenPose] = {}
    laid: set[tuple[str, float | None]] = set()
    for pose in poses:
        earlier = stretches.setdefault(pose.reading.start_s, pose)
        if earlier is not pose:
            raise RepeatedPose(f"the sensor lies still since {earlier.name} was taken", f"Move it to {pose.name}")
        if pose.face is None:
            continue
        if (pose.face, pose.yaw_deg) in laid:
            raise RepeatedPose(f"{pose.name} was taken before", "Lay it another way, or start again")
        laid.add((pose.face, pose.yaw_deg))
