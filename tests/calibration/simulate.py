"""A small bench in numpy: table, carrier and chip from the definitions of DEVELOPERS.md, nothing from the estimator.

World: Z up. The carrier frame is given in the world by a rotation matrix (columns x, y, z); a chip shows, in g, the
up direction seen from the carrier, through its own scale, cross-axis and offset.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from hingeline_calibration.chips import CHIPS, Chip
from hingeline_calibration.placements import Rest
from hingeline_calibration.still import Window, summarise

Array = NDArray[np.float64]

FACES = ("+x", "-x", "+y", "-y", "+z", "-z")
SIX = tuple((face, 0.0) for face in FACES)
TWELVE = tuple((face, yaw) for face in FACES for yaw in (0.0, 180.0))
TWENTY_FOUR = tuple((face, yaw) for face in FACES for yaw in (0.0, 90.0, 180.0, 270.0))
LEANED = ((1, 1, 0), (-1, 1, 0), (1, 0, 1), (-1, 0, 1), (0, 1, 1), (0, 1, -1))
"""Up directions, before scatter, of six leaned rests: on six of the twelve edges."""
TWELVE_AND_SIX = (*TWELVE, *((None, up) for up in LEANED))
POSES = {"6": SIX, "12": TWELVE, "24": TWENTY_FOUR, "12+6": TWELVE_AND_SIX}
LINES_HZ = 50.0


@dataclass(frozen=True, eq=False)
class Truth:
    """All that is true of one bench."""

    chip: Chip
    matrix: Array
    """(3, 3) chip response in g per g, carrier frame in, chip axes out."""
    offset_g: Array
    tempco_g: Array
    noise_g: float
    """Standard deviation of one line."""
    square: dict[str, Array]
    """Rotation vector (3,) in rad of the carrier's true face against its ideal, by face; no turn about up."""
    tilt: Array
    """Table normal: rotation vector (2,) in rad about world X and Y."""
    first_azimuth: dict[str, float]
    """Azimuth, rad, at which each face happens to be laid first."""
    scatter: float
    """Standard deviation, rad, of each component of one laying-down."""


def bench(
    rng: np.random.Generator,
    chip: str = "mpu6050",
    *,
    tilt_deg: float | None = None,
    square_deg: float = 0.2,
    scatter_deg: float = 0.026,
    worst: bool = False,
) -> Truth:
    """Draw a bench. `worst`: errors at the datasheet's limits with random signs, else uniform within them.

    The table is off level by `tilt_deg` in a random direction, or by anything up to 0.5° where None.
    """
    facts = CHIPS[chip]

    def limit(value: float | Sequence[float], *shape: int) -> Array:
        unit = rng.choice([-1.0, 1.0], shape) if worst else rng.uniform(-1, 1, shape)
        return unit * np.asarray(value)

    matrix = np.eye(3) + np.diag(limit(facts.scale_percent / 100, 3))
    matrix += limit(facts.cross_axis_percent / 100, 3, 3) * (1 - np.eye(3))
    size = 0.5 * np.sqrt(rng.uniform()) if tilt_deg is None else tilt_deg
    way = rng.uniform(0, 2 * np.pi)
    return Truth(
        chip=facts,
        matrix=matrix,
        offset_g=limit(np.array(facts.offset_mg) * 1e-3, 3),
        tempco_g=limit(np.array(facts.tempco_mg_per_c) * 1e-3, 3),
        noise_g=max(facts.noise_ug_per_rthz) * 1e-6 * np.sqrt(LINES_HZ / 2),
        square={face: np.radians(square_deg) * rng.standard_normal(2) for face in FACES},
        tilt=np.radians(size) * np.array([np.cos(way), np.sin(way)]),
        first_azimuth={face: rng.uniform(0, 2 * np.pi) for face in FACES},
        scatter=np.radians(scatter_deg),
    )


_TO_Z = {
    "+x": Rotation.from_euler("y", -90, degrees=True),
    "-x": Rotation.from_euler("y", 90, degrees=True),
    "+y": Rotation.from_euler("x", 90, degrees=True),
    "-y": Rotation.from_euler("x", -90, degrees=True),
    "+z": Rotation.identity(),
    "-z": Rotation.from_euler("x", 180, degrees=True),
}
"""Brings the carrier from lying on its base to having each face up: which way round is `first_azimuth`."""
_UP = np.array([0.0, 0.0, 1.0])


def up_on_table(truth: Truth, rng: np.random.Generator, face: str, yaw_deg: float) -> Array:
    """(3,) the up direction in the carrier frame when it lies with a face up."""
    out_of_square = Rotation.from_rotvec([*truth.square[face], 0.0])
    turned = Rotation.from_euler("z", truth.first_azimuth[face] + np.radians(yaw_deg))
    laid = Rotation.from_rotvec([*(truth.scatter * rng.standard_normal(2)), 0.0])
    table = Rotation.from_rotvec([*truth.tilt, 0.0])
    return (table * laid * turned * out_of_square * _TO_Z[face]).inv().apply(_UP)


def up_leaned(rng: np.random.Generator, toward: Sequence[float]) -> Array:
    """(3,) the up direction in the carrier frame, propped by hand near a direction, some 10° off."""
    up = np.asarray(toward, float) / np.linalg.norm(toward) + 0.15 * rng.standard_normal(3)
    return up / np.linalg.norm(up)


def up_deflected(hinge: Sequence[float], neutral: Array, deflection_deg: float) -> Array:
    """(3,) the up direction after the carrier turned by a deflection, right-handed about the hinge."""
    axis = np.asarray(hinge, float) / np.linalg.norm(hinge)
    return Rotation.from_rotvec(np.radians(deflection_deg) * axis).inv().apply(neutral)


def window(
    truth: Truth, rng: np.random.Generator, up: Array, *, seconds: float = 1.0, warmer_c: float = 0.0, start_s: float = 0.0
) -> Window:
    """A still window at an attitude: four readings a line, each with noise and rounded."""
    facts = truth.chip
    shown_g = truth.matrix @ up + truth.offset_g + truth.tempco_g * warmer_c
    lines = round(seconds * LINES_HZ)
    readings_g = shown_g + 2 * truth.noise_g * rng.standard_normal((lines, 4, 3))
    counts = facts.step_counts * np.round(readings_g * facts.counts_per_g / facts.step_counts)
    times = start_s + np.arange(lines) / LINES_HZ
    return summarise(times, counts.mean(axis=1), [25.0 + warmer_c] * lines, step_counts=facts.step_counts)


def take_rests(
    truth: Truth, rng: np.random.Generator, poses: Sequence[tuple[str | None, object]], seconds: float = 1.0
) -> list[Rest]:
    """Windows of all poses: (face, yaw in degrees) or (None, direction that is up when leaned)."""
    rests = []
    for index, (face, how) in enumerate(poses):
        up = up_leaned(rng, how) if face is None else up_on_table(truth, rng, face, how)
        seen = window(truth, rng, up, seconds=seconds, start_s=10.0 * index)
        rests.append(Rest(seen, face, None if face is None else how))
    return rests
