"""Which poses a calibration wants, which are taken, and what each further one would gain."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from hingeline_calibration.arrays import Array
from hingeline_calibration.errors import CalibrationError, MissingDirections, RepeatedPose
from hingeline_calibration.estimator import solve
from hingeline_calibration.hinge import error_of_turn
from hingeline_calibration.poses import (
    FACE_WORDS,
    FACES,
    TakenPose,
    check_axes,
    check_distinct,
    check_reading,
    face_up,
    pose_name,
    recognise,
)
from hingeline_calibration.priors import Priors
from hingeline_calibration.scatter import FLOOR_MG
from hingeline_calibration.still import Reading

_TELLING_TURN_DEG = 45.0
"""The gain of a pose is given for a deflection from level by this much."""
_TURNS: dict[float | None, str] = {
    0.0: "",
    90.0: "a quarter turn",
    180.0: "end for end",
    270.0: "three quarters of a turn",
}


@dataclass(frozen=True)
class Pose:
    """A pose that a procedure wants: the face up and its yaw, or the two faces between which a leaning one is propped.

    Of a leaning pose, both opposite faces serve as well.
    """

    face: str | None
    yaw_deg: float | None
    between: tuple[str, str] | None = None

    @property
    def name(self) -> str:
        """Short words."""
        if self.between is None:
            return pose_name(self.face, self.yaw_deg)
        first, second = (FACE_WORDS[face] for face in self.between)
        return f"leaning, {first} and {second}"

    @property
    def instruction(self) -> str:
        """What to do, as a sentence part."""
        if self.between is not None:
            return f"lean it, {self.name.removeprefix('leaning, ')}, 30 to 60° steep"
        turned = _TURNS.get(self.yaw_deg, f"by {self.yaw_deg:g}°")
        return f"lay it {FACE_WORDS[self.face or '']}" + (f", turned {turned} on its spot" if turned else "")

    @property
    def up(self) -> Array:
        """(3,) nominal up direction, carrier frame."""
        if self.between is None:
            return face_up(self.face or "")
        return np.asarray((face_up(self.between[0]) + face_up(self.between[1])) / np.sqrt(2))


def counted_poses(poses: Iterable[Pose]) -> str:
    """Poses in short, such as "arrow down ×2, leaning ×6"."""
    counts = Counter(FACE_WORDS.get(pose.face or "", "leaning") for pose in poses)
    return ", ".join(words if count == 1 else f"{words} ×{count}" for words, count in counts.items())


def _faces(*yaws_deg: float) -> tuple[Pose, ...]:
    return tuple(Pose(face, yaw) for face in FACES for yaw in yaws_deg)


LEANED = tuple(
    Pose(None, None, between)
    for between in (("+x", "+y"), ("-x", "+y"), ("+x", "+z"), ("-x", "+z"), ("+y", "+z"), ("-y", "+z"))
)
"""Six leaning poses that together show the shear of every pair of axes."""
PROCEDURES = {
    "6": _faces(0),
    "12": _faces(0, 180),
    "24": _faces(0, 90, 180, 270),
    "12+6": (*_faces(0, 180), *LEANED),
}
"""Sets of poses by name; ``12+6`` is recommended."""


@dataclass(frozen=True, eq=False)
class Checklist:
    """The poses wanted and taken of one sensor; each further one gives a new checklist.

    `taken` holds what the sensor showed, in order, and `done` the wanted poses that they are.
    """

    wanted: tuple[Pose, ...]
    counts_per_g: float
    priors: Priors = field(default_factory=Priors)
    taken: tuple[TakenPose, ...] = ()
    done: tuple[Pose, ...] = ()

    @property
    def missing(self) -> tuple[Pose, ...]:
        """Poses still wanted, in the order of the procedure."""
        return tuple(pose for pose in self.wanted if pose not in self.done)

    def recognise(self, reading: Reading) -> Pose:
        """The wanted pose that a reading shows: its face, and the next yaw that is missing of it.

        The yaw can't be recognised on a level table; it is the next step of the procedure.

        Raises
        ------
        UnusableReading
            See `poses.check_reading` and `poses.recognise`.
        RepeatedPose
            Nothing is missing of that face, or near that lean.
        """
        check_reading(reading, self.counts_per_g)
        check_axes((*(pose.reading for pose in self.taken), reading), self.counts_per_g)
        face = recognise(reading, self.counts_per_g)
        of_kind = [pose for pose in self.wanted if pose.face == face]
        if face is None and of_kind:
            up = reading.mean_counts / np.linalg.norm(reading.mean_counts)
            of_kind = [max(of_kind, key=lambda pose: abs(float(pose.up @ up)))]
        for pose in of_kind:
            if pose not in self.done:
                return pose
        shown = FACE_WORDS[face] if face else of_kind[0].name if of_kind else "leaning"
        raise RepeatedPose(
            f"{shown}: {'all poses of this kind are done' if of_kind else 'not a pose of this procedure'}",
            f"Next: {self.missing[0].instruction}" if self.missing else "All poses are done",
        )

    def take(self, reading: Reading) -> Checklist:
        """The checklist with one more pose. Raises as `recognise`, and of a sensor not moved since the last pose."""
        pose = self.recognise(reading)
        taken = (*self.taken, TakenPose(reading, pose.face, pose.yaw_deg))
        check_distinct(taken)
        return replace(self, taken=taken, done=(*self.done, pose))

    def expected_deg(self, further: Sequence[Pose] = ()) -> float:
        """Standard deviation, by the calibration alone, of a deflection by 45° from level, with further poses.

        Infinite as long as the poses leave the calibration open.
        """
        if not self.taken:
            raise CalibrationError("no pose yet, expected one whose noise is known", "Take the first pose")
        typical = self.taken[-1].reading
        foreseen = [
            TakenPose(replace(typical, mean_counts=pose.up * self.counts_per_g), pose.face, pose.yaw_deg)
            for pose in (*self.done, *further)
        ]
        repeats_g = np.full(len(foreseen), 1e-3 * FLOOR_MG)
        try:
            parts = solve(foreseen, self.counts_per_g, self.priors, repeats_g).parts
        except MissingDirections:
            return float("inf")
        turn = np.radians(_TELLING_TURN_DEG)
        turned = np.array([0.0, np.sin(turn), np.cos(turn)])
        slope = error_of_turn(np.array([1.0, 0.0, 0.0]), face_up("+z"), turned, np.eye(3) / self.counts_per_g)
        return float(np.degrees(np.sqrt(sum(slope @ part @ slope for part in parts.values()))))

    def worth(self) -> tuple[tuple[Pose, float, float], ...]:
        """Each pose that may come next, with `expected_deg` before and after it: of a face that is its next yaw."""
        before = self.expected_deg()
        by_kind = {pose.face or pose.between: pose for pose in reversed(self.missing)}
        following = [pose for pose in self.missing if pose in by_kind.values()]
        return tuple((pose, before, self.expected_deg((pose,))) for pose in following)
