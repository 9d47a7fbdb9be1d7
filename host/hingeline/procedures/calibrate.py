"""Taking the poses of a calibration: any order, any number of sensors side by side on one table."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from hingeline import __version__
from hingeline.device.samples import SensorInfo
from hingeline.procedures.procedure import Event, Message, Next, Procedure, Step, Taken
from hingeline.units import counted
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
HOLD_S = 1.0
"""Longer than for a reading, as every reading depends on it."""
PATIENCE_S = 900.0
"""Finding something to lean a carrier on takes its time."""


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


@dataclass(frozen=True)
class Progress:
    """How far one sensor has come.

    Attributes
    ----------
    info
        As its board introduced it.
    checklist
        The poses that are wanted, and those taken.
    last
        Its last reading.
    moved_s
        How long it moved at most since that.
    disagreed
        How often its poses have disagreed.
    result
        Its calibration, marked as poor where it is; or why there is none.
    """

    info: SensorInfo
    checklist: Checklist
    last: Reading | None = None
    moved_s: float = 0.0
    disagreed: int = 0
    result: Calibration | CalibrationError | None = None

    @property
    def outlook(self) -> Outlook:
        """What is missing, and what the next pose would better."""
        checklist = self.checklist
        known = _finite(checklist.expected_deg()) if checklist.taken else None
        worth = checklist.worth() if checklist.taken else ()
        best, _, then_deg = min(worth, key=lambda row: row[2], default=(None, 0.0, float("inf")))
        return Outlook(len(checklist.taken), len(checklist.wanted), checklist.missing, known, best, _finite(then_deg))


class Outcome(NamedTuple):
    """What became of one sensor's pose: taken, or refused with the reason."""

    sensor_id: str
    name: str
    refused: str = ""


@dataclass(frozen=True)
class Calibrate(Procedure):
    """Takes poses as the sensors come to lie, and calibrates each sensor once it is complete.

    Attributes
    ----------
    progress
        Of each sensor, by its id.
    priors
        Of table and carrier.
    date
        Of the calibrations, ISO 8601.
    """

    progress: Mapping[str, Progress]
    priors: Priors
    date: str

    @classmethod
    def of(
        cls,
        sensors: Sequence[SensorInfo],
        date: str,
        wanted: tuple[Pose, ...] = BEST,
        priors: Priors | None = None,
    ) -> Calibrate:
        """Begin with these sensors, each to be laid in these poses."""
        priors = Priors() if priors is None else priors
        return cls(
            {info.sensor_id: Progress(info, Checklist(wanted, info.counts_per_g, priors)) for info in sensors},
            priors,
            date,
        )

    @property
    def results(self) -> Mapping[str, Calibration | CalibrationError]:
        """By sensor id, its calibration, marked as poor where it is; or why there is none."""
        return {
            sensor_id: progress.result for sensor_id, progress in self.progress.items() if progress.result is not None
        }

    @property
    def step(self) -> Step | None:
        """Any pose that is wanted, in any order; a sensor that can't be used is waited for no more."""
        if len(self.results) == len(self.progress):
            return None
        usable = tuple(
            sensor_id
            for sensor_id, progress in self.progress.items()
            if not isinstance(progress.result, UnusableReading)
        )
        wanted = len(next(iter(self.progress.values())).checklist.wanted)
        sensors = counted(len(self.progress), "sensor")
        ask = f"{wanted} poses for each of {sensors}. Lay every carrier on a face and let go."
        return Step(ask, usable, HOLD_S, patience_s=PATIENCE_S, while_still="still: lay the next pose")

    def after(self, event: Taken) -> Next[Calibrate]:
        """Take the poses of all sensors that have been laid anew."""
        progress = dict(self.progress)
        outcomes: list[tuple[Outcome, Outlook]] = []
        for sensor_id, former in self.progress.items():
            moved_s = max(former.moved_s, event.moved_s.get(sensor_id, 0.0))
            progress[sensor_id] = replace(former, moved_s=moved_s)
            reading = event.readings.get(sensor_id)
            if former.result is not None or reading is None:
                continue
            if former.last is not None and reading.start_s == former.last.start_s:
                continue
            progress[sensor_id], outcome = self._take(progress[sensor_id], reading)
            outcomes.append((outcome, progress[sensor_id].outlook))
            if progress[sensor_id].result is None and not progress[sensor_id].checklist.missing:
                progress[sensor_id], doubted = self._calibrated(progress[sensor_id])
                outcomes += [(outcome, progress[sensor_id].outlook) for outcome in doubted]
        return Next(
            replace(self, progress=progress),
            messages=tuple(Message(_outcome_text(*pair)) for pair in outcomes),
            results=tuple(Event("rest", outcome._asdict()) for outcome, _ in outcomes),
        )

    def _take(self, progress: Progress, reading: Reading) -> tuple[Progress, Outcome]:
        sensor_id, before, bumped = progress.info.sensor_id, progress.last, progress.moved_s < TURN_S
        progress = replace(progress, last=reading, moved_s=0.0)
        try:
            if before is not None and bumped and _face(progress, before) == _face(progress, reading):
                return progress, Outcome(sensor_id, "the same again", "it was bumped, not laid anew")
            progress = replace(progress, checklist=progress.checklist.take(reading))
        except UnusableReading as problem:
            refused = f"{problem} The sensor is left out"
            return replace(progress, result=problem), Outcome(sensor_id, "pose", refused)
        except CalibrationError as problem:
            return progress, Outcome(sensor_id, "pose", str(problem))
        return progress, Outcome(sensor_id, progress.checklist.taken[-1].name)

    def _calibrated(self, progress: Progress) -> tuple[Progress, list[Outcome]]:
        """Calibrate a complete sensor; poses that disagree are taken out, to be asked for again."""
        poses, again = progress.checklist.taken, progress.disagreed < AGAIN
        result: Calibration | CalibrationError | None
        try:
            calibration = self._fitted(progress.info, poses)
        except MovedPose as problem:
            doubted, result = {problem.index: str(problem)}, None if again else problem
        except CalibrationError as problem:
            doubted, result = {}, problem
        else:
            unlike = unlike_faces(calibration) if again else {}
            doubted = {index: unlike[pose.face] for index, pose in enumerate(poses) if pose.face in unlike}
            result = None if doubted else calibration
        following = replace(
            progress,
            result=result,
            disagreed=progress.disagreed + 1,
            checklist=_without(progress.checklist, doubted),
        )
        return following, [
            Outcome(progress.info.sensor_id, poses[index].name, reason) for index, reason in doubted.items()
        ]

    def _fitted(self, info: SensorInfo, poses: Sequence[TakenPose]) -> Calibration:
        """Calibrate from all poses; a calibration that fails a check is marked as poor."""
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
            priors=self.priors,
            date=self.date,
            tool_version=__version__,
        )


def _face(progress: Progress, reading: Reading) -> str | None:
    return recognise(reading, progress.info.counts_per_g)


def _outcome_text(outcome: Outcome, outlook: Outlook) -> str:
    if outcome.refused:
        return f"{outcome.sensor_id}: {outcome.name} not taken: {outcome.refused}"
    parts = [f"{outcome.sensor_id}: {outcome.name}, {outlook.taken} of {outlook.wanted}"]
    if outlook.known_deg is not None:
        parts.append(f"accuracy so far: ±{2 * outlook.known_deg:.2f}° at 45°")
    parts.append(f"to do: {outlook.missing_text}" if outlook.missing else "complete")
    if outlook.best is not None and outlook.then_deg is not None:
        parts.append(f"best next: {outlook.best.instruction} (then ±{2 * outlook.then_deg:.2f}°)")
    return "; ".join(parts)


def _without(checklist: Checklist, indices: Collection[int]) -> Checklist:
    kept = [index for index in range(len(checklist.taken)) if index not in indices]
    return replace(
        checklist,
        taken=tuple(checklist.taken[index] for index in kept),
        done=tuple(checklist.done[index] for index in kept),
    )


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None
