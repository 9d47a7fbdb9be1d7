"""Benches in numpy, many at once: table, carrier and chip from the definitions of DEVELOPERS.md.

Nothing here comes from the estimator. World: Z up. A carrier lies in the world by a rotation; its chip shows the up
direction, seen from the carrier, through its own scale, cross-axis sensitivity, offset and noise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.spatial.transform import Rotation

from hingeline_calibration.arrays import Array
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.chips import CHIPS, Chip
from hingeline_calibration.fit import calibrate
from hingeline_calibration.poses import TakenPose
from hingeline_calibration.priors import Priors
from hingeline_calibration.scatter import Repeat
from hingeline_calibration.still import Reading
from hingeline_calibration.temperature import Tempco

Pose = tuple[str | None, object]
FACES = ("+x", "-x", "+y", "-y", "+z", "-z")
SIX: tuple[Pose, ...] = tuple((face, 0.0) for face in FACES)
TWELVE: tuple[Pose, ...] = tuple((face, yaw) for face in FACES for yaw in (0.0, 180.0))
TWENTY_FOUR: tuple[Pose, ...] = tuple((face, yaw) for face in FACES for yaw in (0.0, 90.0, 180.0, 270.0))
EDGES: tuple[Pose, ...] = tuple(
    (None, up) for up in ((1, 1, 0), (-1, 1, 0), (1, 0, 1), (-1, 0, 1), (0, 1, 1), (0, -1, 1))
)
"""Six leaned poses, propped near six of the twelve edges."""
POSES = {"6": SIX, "12": TWELVE, "24": TWENTY_FOUR, "12+6": (*TWELVE, *EDGES)}
MOST_OFFSET_MG = 100.0
"""Benches have no larger offset: a datasheet may allow it, but a face up looks leaned then, and is refused."""
LINES_HZ = 50.0
REPEAT_G = 1e-4
"""What the real sensor of tests/data/recordings shows, taken for every chip."""
X = np.array([1.0, 0.0, 0.0])
Z = np.array([0.0, 0.0, 1.0])
_TO_Z = {
    "+x": Rotation.from_euler("y", -90, degrees=True),
    "-x": Rotation.from_euler("y", 90, degrees=True),
    "+y": Rotation.from_euler("x", 90, degrees=True),
    "-y": Rotation.from_euler("x", -90, degrees=True),
    "+z": Rotation.identity(),
    "-z": Rotation.from_euler("x", 180, degrees=True),
}
"""Takes the carrier from lying on its base to having each face up."""


@dataclass(frozen=True, eq=False)
class Benches:
    """What is true of B benches, all with one kind of chip."""

    chip: Chip
    chip_name: str
    matrix: Array
    """(B, 3, 3) g shown per g, carrier frame in, chip axes out."""
    offset_g: Array
    """(B, 3)"""
    tempco_g: Array
    """(B, 3) per °C."""
    square_rad: Array
    """(B, 6, 2) each face out of square: rotation about two horizontal axes as the face lies."""
    tilt_rad: Array
    """(B, 2) the table: rotation about world X and Y."""
    azimuth_rad: Array
    """(B, 6) how each face happens to be laid first."""
    scatter_rad: float
    """Standard deviation of each component of one laying-down."""
    repeat_g: float
    """Standard deviation of each axis from one reading to the next, beside noise."""


def draw(
    rng: np.random.Generator,
    count: int,
    chip: str = "mpu6050",
    *,
    tilt_deg: float | None = None,
    square_deg: float = 0.2,
    scatter_deg: float = 0.026,
    worst: bool = False,
) -> Benches:
    """Draw benches.

    The table is off level by `tilt_deg` in any direction, by anything up to 0.5° where None. Chip errors are uniform
    within the datasheet's limits; `worst`: at the limits, random signs.
    """
    facts = CHIPS[chip]

    def within(limit: ArrayLike, *shape: int) -> Array:
        unit = rng.choice([-1.0, 1.0], shape) if worst else rng.uniform(-1, 1, shape)
        return np.asarray(unit * np.asarray(limit))

    cross = within(facts.cross_axis_percent / 100, count, 3, 3) * (1 - np.eye(3))
    scale = within(facts.scale_percent / 100, count, 3, 1) * np.eye(3)
    size = np.radians(0.5 * np.sqrt(rng.uniform(size=count)) if tilt_deg is None else np.full(count, tilt_deg))
    way = rng.uniform(0, 2 * np.pi, count)
    return Benches(
        chip=facts,
        chip_name=chip,
        matrix=np.eye(3) + scale + cross,
        offset_g=within(np.minimum(facts.offset_mg, MOST_OFFSET_MG) * 1e-3, count, 3),
        tempco_g=within(np.array(facts.tempco_mg_per_c) * 1e-3, count, 3),
        square_rad=np.radians(square_deg) * rng.standard_normal((count, 6, 2)),
        tilt_rad=size[:, None] * np.stack([np.cos(way), np.sin(way)], axis=1),
        azimuth_rad=rng.uniform(0, 2 * np.pi, (count, 6)),
        scatter_rad=np.radians(scatter_deg),
        repeat_g=REPEAT_G,
    )


def ups_of(benches: Benches, rng: np.random.Generator, poses: Sequence[Pose], lean_scatter: float = 0.2) -> Array:
    """(B, K, 3) the up direction in the carrier frame in each pose."""
    count = len(benches.matrix)
    ups = np.zeros((count, len(poses), 3))
    table = _about(benches.tilt_rad)
    for index, (face, how) in enumerate(poses):
        if face is None:
            raw = np.array(how) / np.linalg.norm(how) + lean_scatter * rng.uniform(-1, 1, (count, 3))
            ups[:, index] = raw / np.linalg.norm(raw, axis=1, keepdims=True)
            continue
        number = FACES.index(face)
        out_of_square = _about(benches.square_rad[:, number])
        turned = Rotation.from_rotvec((benches.azimuth_rad[:, number, None] + np.radians(float(how))) * Z)
        laid = _about(benches.scatter_rad * rng.standard_normal((count, 2)))
        ups[:, index] = (table * laid * turned * out_of_square * _TO_Z[face]).inv().apply(Z)
    return ups


def _about(turns_rad: Array) -> Rotation:
    """Small rotations about world X and Y, turns (B, 2)."""
    return Rotation.from_rotvec(np.pad(turns_rad, ((0, 0), (0, 1))))


def deflected(hinge: Array, neutral: Array, deflection_deg: Array) -> Array:
    """(B, 3) the up direction after the carrier turned by a deflection, right-handed about the hinge (B, 3)."""
    turn = Rotation.from_rotvec(np.radians(deflection_deg)[:, None] * hinge)
    return np.asarray(turn.inv().apply(neutral))


def readings(
    benches: Benches, rng: np.random.Generator, ups: Array, *, seconds: float = 1.0, warmer_c: ArrayLike = 0.0
) -> list[list[Reading]]:
    """Still readings of all benches (B) and attitudes (K): white noise of the chip's density over the time.

    Variance of the mean: density² / (2 T) (one-sided density); the reading states it as well as its lines can tell.
    Each reading jumps by what the chip repeats to, which it does not state.
    """
    count, poses, _ = ups.shape
    facts = benches.chip
    warmer = np.broadcast_to(np.asarray(warmer_c, float), (count, poses))
    shown_g = np.einsum("bij,bkj->bki", benches.matrix, ups) + benches.offset_g[:, None]
    shown_g += benches.repeat_g * rng.spawn(1)[0].standard_normal(shown_g.shape)
    shown_g += benches.tempco_g[:, None] * warmer[:, :, None]
    sd_g = np.array(facts.noise_ug_per_rthz) * 1e-6 / np.sqrt(2 * seconds)
    shown_g += sd_g * rng.standard_normal(shown_g.shape)
    freedom = seconds * LINES_HZ - 1
    stated = sd_g**2 * rng.chisquare(freedom, shown_g.shape) / freedom
    return [
        [
            Reading(
                mean_counts=shown_g[b, k] * facts.counts_per_g,
                covariance_counts2=np.diag(stated[b, k]) * facts.counts_per_g**2,
                temperature_c=25.0 + warmer[b, k],
                duration_s=seconds,
                lines=round(seconds * LINES_HZ),
                start_s=10.0 * k,
            )
            for k in range(poses)
        ]
        for b in range(count)
    ]


def poses_of(
    benches: Benches,
    rng: np.random.Generator,
    poses: Sequence[Pose],
    *,
    seconds: float = 1.0,
    lean_scatter: float = 0.2,
) -> list[list[TakenPose]]:
    """The poses of all benches."""
    taken = readings(benches, rng, ups_of(benches, rng, poses, lean_scatter), seconds=seconds)
    return [
        [
            TakenPose(reading, face, None if face is None else float(how))  # type: ignore[arg-type]
            for reading, (face, how) in zip(row, poses, strict=True)
        ]
        for row in taken
    ]


def calibrated(benches: Benches, taken: Sequence[TakenPose], priors: Priors | None = None) -> Calibration:
    """The calibration of one bench's poses."""
    return calibrate(
        taken,
        sensor_id="e6612c0ffee-0",
        chip=benches.chip_name,
        counts_per_g=benches.chip.counts_per_g,
        priors=priors,
        date="2026-03-01T10:00:00+00:00",
        tool_version="0.1.0",
    )


def exact() -> Calibration:
    """A calibration without any error: counts are in g."""
    return Calibration(
        sensor_id="e6612c0ffee-0",
        chip="mpu6050",
        counts_per_g=1.0,
        matrix_counts_per_g=np.eye(3),
        bias_counts=np.zeros(3),
        covariance_parts={"noise": np.zeros((12, 12))},
        temperature_c=None,
        tempco=Tempco(np.zeros(3), np.zeros(3), False),
        date="2026-03-01T10:00:00+00:00",
        poses=(),
        residual_mg=0.0,
        noise_mg=0.0,
        repeat=Repeat(0.0),
        table_tilt_deg={},
        squareness_deg={},
        priors_decide=(),
        tool_version="0.1.0",
    )
