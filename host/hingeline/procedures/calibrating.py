"""Taking the poses of a calibration: any order, any number of sensors side by side on one table."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hingeline import __version__
from hingeline.device.samples import Sample, SensorInfo
from hingeline.measure.capture import Capture, Readings, Seen
from hingeline.storage.store import now_text
from hingeline_calibration.acceptance import check_fresh, judge, unlike_faces
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.checklist import LEANED, PROCEDURES, Checklist, Pose, counted_poses
from hingeline_calibration.errors import CalibrationError, MovedPose, UnusableReading
from hingeline_calibration.fit import calibrate
from hingeline_calibration.poses import TakenPose, recognise
from hingeline_calibration.priors import Priors
from hingeline_calibration.still import Reading

TURN_S = 0.25
"""A movement that is over sooner is a bump of the table, not a turn by hand; common practice, no source."""
AGAIN = 3
"""So often poses of one sensor that disagree are asked for again; then the sensor is at fault."""
FACES_AT = {"1": PROCEDURES["6"], "2": PROCEDURES["12"], "4": PROCEDURES["24"]}
"""By the number of turns, the poses on faces."""
LEANED_OF = {"0": (), "3": LEANED[::2], "6": LEANED}
"""By their number, the leaned poses; three tell the shear of each pair of axes once."""
BEST = (*FACES_AT["2"], *LEANED_OF["6"])
"""The poses that are recommended."""
PATIENCE_S = 900.0
"""Finding something to lean a carrier on takes its time."""


@dataclass(frozen=True)
class Taken:
    """What became of one sensor's pose: taken, or refused with the reason."""

    sensor_id: str
    name: str
    refused: str = ""


@dataclass(frozen=True)
class Outlook:
    """How far one sensor is.

    Attributes
    ----------
    taken, wanted
        Numbers of poses.
    missing
        Poses still wanted.
    known_deg
        Standard uncertainty that the poses so far would leave a deflection by 45°; None as long as it can't be told.
    best, then_deg
        The missing pose that would better this most, and to what.
    """

    taken: int
    wanted: int
    missing: tuple[Pose, ...]
    known_deg: float | None
    best: Pose | None
    then_deg: float | None

    @property
    def missing_text(self) -> str:
        """The missing poses in short."""
        return counted_poses(self.missing)


@dataclass
class _Progress:
    """One sensor: its poses so far, how long it moved at most since the last, and what came of it."""

    info: SensorInfo
    checklist: Checklist
    last: Reading | None = None
    still_s: float | None = None
    moving: bool = False
    moved_s: float = 0.0
    disagreed: int = 0
    result: Calibration | CalibrationError | None = None


class Taking:
    """Takes poses as the sensors come to lie, tells what is missing, and calibrates each sensor once it is complete.

    Parameters
    ----------
    sensors
        As their boards introduced them.
    wanted
        The poses of each.
    priors
        Of table and carrier.
    """

    def __init__(
        self,
        sensors: Sequence[SensorInfo],
        wanted: tuple[Pose, ...] = BEST,
        priors: Priors | None = None,
    ) -> None:
        self._priors = Priors() if priors is None else priors
        self._hold_s = 0.0
        self._sensors = {
            info.sensor_id: _Progress(info, Checklist(wanted, info.counts_per_g, self._priors))
            for info in sensors
        }

    @property
    def results(self) -> Mapping[str, Calibration | CalibrationError]:
        """By sensor id, its calibration, marked as poor where it is; or why there is none."""
        return {name: one.result for name, one in self._sensors.items() if one.result is not None}

    def outlook(self, sensor_id: str) -> Outlook:
        """Return how far a sensor is, once it has a pose."""
        checklist = self._sensors[sensor_id].checklist
        known = _finite(checklist.expected_deg()) if checklist.taken else None
        worth = checklist.worth() if checklist.taken else ()
        best, _, then_deg = min(worth, key=lambda row: row[2], default=(None, 0.0, float("inf")))
        return Outlook(
            len(checklist.taken), len(checklist.wanted), checklist.missing, known, best, _finite(then_deg)
        )

    def run(self, capture: Capture, ask: Callable[[Taking], None]) -> Iterator[Taken]:
        """Yield what becomes of each pose until every sensor has its result; `ask` is called before each.

        Raises
        ------
        HingelineError
            See `Capture.rest`.
        """
        self._hold_s = capture.hold_s
        while len(self.results) < len(self._sensors):
            ask(self)
            yield from self.take(capture.rest(patience_s=PATIENCE_S))
            for name, result in self.results.items():
                if isinstance(result, UnusableReading):
                    capture.leave_out(name)

    def saw(self, seen: Seen) -> None:
        """Watch how long each carrier moves between its poses."""
        event = seen.event
        if not isinstance(event, Sample) or event.sensor_id not in self._sensors:
            return
        progress, moving = self._sensors[event.sensor_id], event.sensor_id in seen.moving
        if not moving:
            if progress.moving and progress.still_s is not None:
                moved_s = event.time_s - progress.still_s - self._hold_s
                progress.moved_s = max(progress.moved_s, moved_s)
            progress.still_s = event.time_s
        progress.moving = moving

    def take(self, rests: Readings) -> Iterator[Taken]:
        """Take the poses of all sensors that have been laid anew."""
        for name, progress in self._sensors.items():
            if progress.result is None and (
                progress.last is None or rests[name].start_s != progress.last.start_s
            ):
                yield self._take(progress, rests[name])
                if progress.result is None and not progress.checklist.missing:
                    yield from self._calibrate(progress)

    def _take(self, progress: _Progress, reading: Reading) -> Taken:
        sensor_id, before, bumped = progress.info.sensor_id, progress.last, progress.moved_s < TURN_S
        progress.last, progress.moved_s = reading, 0.0
        try:
            if (
                before is not None
                and bumped
                and self._face(progress, before) == self._face(progress, reading)
            ):
                return Taken(sensor_id, "the same again", "it was bumped, not laid anew")
            progress.checklist = progress.checklist.take(reading)
        except UnusableReading as problem:
            progress.result = problem
            return Taken(sensor_id, "pose", f"{problem} The sensor is left out")
        except CalibrationError as problem:
            return Taken(sensor_id, "pose", str(problem))
        return Taken(sensor_id, progress.checklist.taken[-1].name)

    def _face(self, progress: _Progress, reading: Reading) -> str | None:
        return recognise(reading, progress.info.counts_per_g)

    def _calibrate(self, progress: _Progress) -> Iterator[Taken]:
        """Calibrate a complete sensor; poses that disagree are taken out, to be asked for again."""
        poses, again = progress.checklist.taken, progress.disagreed < AGAIN
        try:
            found = self._fitted(progress.info, poses)
        except MovedPose as problem:
            doubted, progress.result = {problem.index: str(problem)}, None if again else problem
        except CalibrationError as problem:
            doubted, progress.result = {}, problem
        else:
            unlike = unlike_faces(found) if again else {}
            doubted = {index: unlike[pose.face] for index, pose in enumerate(poses) if pose.face in unlike}
            progress.result = None if doubted else found
        progress.disagreed += 1
        progress.checklist = _without(progress.checklist, doubted)
        for index, reason in doubted.items():
            yield Taken(progress.info.sensor_id, poses[index].name, reason)

    def _fitted(self, info: SensorInfo, poses: Sequence[TakenPose]) -> Calibration:
        """Return the calibration of all poses, marked as poor where it fails a check."""
        calibration = self._fit(info, poses)
        return calibration.marked_poor((*judge(calibration), *self._foreseen(info, poses)))

    def _foreseen(self, info: SensorInfo, poses: Sequence[TakenPose]) -> Iterator[str]:
        """Yield what speaks against it in fresh orientations: each leaned pose, against a fit to the others."""
        for index, pose in enumerate(poses):
            if pose.face is None:
                others = self._fit(info, [*poses[:index], *poses[index + 1 :]])
                for reason in check_fresh(others, [pose.reading]):
                    yield f"pose {index + 1} (leaned) against a fit to the others: {reason.partition(': ')[2]}"

    def _fit(self, info: SensorInfo, poses: Sequence[TakenPose]) -> Calibration:
        return calibrate(
            poses,
            sensor_id=info.sensor_id,
            chip=info.chip,
            counts_per_g=info.counts_per_g,
            priors=self._priors,
            date=now_text(),
            tool_version=__version__,
        )


def _without(checklist: Checklist, indices: Collection[int]) -> Checklist:
    kept = [index for index in range(len(checklist.taken)) if index not in indices]
    return replace(
        checklist,
        taken=tuple(checklist.taken[index] for index in kept),
        done=tuple(checklist.done[index] for index in kept),
    )


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None
