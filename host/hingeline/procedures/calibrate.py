"""Taking the poses of a calibration: any order, any number of sensors side by side on one table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
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
from hingeline_calibration.poses import recognise
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
class SensorProgress:
    """How far one sensor has come, of which `info` is its board's introduction.

    `last` is its last reading, since which it moved `moved_s` at once at most. `disagreed` counts how often its poses
    have disagreed. `result` is its calibration, marked as poor where it is; or why there is none.
    """

    info: SensorInfo
    checklist: Checklist
    last: Reading | None = None
    moved_s: float = 0.0
    disagreed: int = 0
    result: Calibration | CalibrationError | None = None


class Outcome(NamedTuple):
    """What became of one sensor's pose: taken, or refused with the reason."""

    sensor_id: str
    name: str
    refused: str = ""


@dataclass(frozen=True)
class Calibrate(Procedure):
    """Takes poses as the sensors come to lie, and calibrates each sensor once it is complete.

    There is `progress` of each sensor, by its id. The calibrations are of the `date`, ISO 8601.
    """

    progress: Mapping[str, SensorProgress]
    date: str

    @classmethod
    def of(
        cls,
        sensors: Sequence[SensorInfo],
        date: str,
        wanted: tuple[Pose, ...] = BEST,
        priors: Priors | None = None,
    ) -> Calibrate:
        """Begin with these sensors, each to be laid in these poses; the priors are of table and carrier."""
        begun = {
            info.sensor_id: SensorProgress(info, Checklist(wanted, info.counts_per_g, priors or Priors()))
            for info in sensors
        }
        return cls(begun, date)

    @property
    def results(self) -> Mapping[str, Calibration | CalibrationError]:
        """By sensor id, its calibration, marked as poor where it is; or why there is none."""
        return {
            sensor_id: progress.result for sensor_id, progress in self.progress.items() if progress.result is not None
        }

    @property
    def step(self) -> Step | None:
        """Any pose that is wanted, in any order; a sensor that can't be used is waited for no more."""
        results = self.results
        if len(results) == len(self.progress):
            return None
        usable = tuple(name for name in self.progress if not isinstance(results.get(name), UnusableReading))
        wanted = len(next(iter(self.progress.values())).checklist.wanted)
        sensors = counted(len(self.progress), "sensor")
        ask = f"{wanted} poses for each of {sensors}. Lay every carrier on a face and let go."
        return Step(ask, usable, HOLD_S, patience_s=PATIENCE_S, while_still="still: lay the next pose")

    def after(self, event: Taken) -> Next[Calibrate]:
        """Take the poses of all sensors that have been laid anew."""
        following: dict[str, SensorProgress] = {}
        outcomes: list[tuple[Outcome, Checklist]] = []
        for sensor_id, former in self.progress.items():
            progress = replace(former, moved_s=max(former.moved_s, event.moved_s.get(sensor_id, 0.0)))
            reading = event.readings.get(sensor_id)
            is_new = reading is not None and (former.last is None or reading.start_s != former.last.start_s)
            if reading is not None and is_new and former.result is None:
                progress, outcome = _take(progress, reading)
                outcomes.append((outcome, progress.checklist))
                if progress.result is None and not progress.checklist.missing:
                    progress, doubted = _calibrate(progress, self.date)
                    outcomes += [(outcome, progress.checklist) for outcome in doubted]
            following[sensor_id] = progress
        return Next(
            replace(self, progress=following),
            messages=tuple(Message(_outcome_text(*pair)) for pair in outcomes),
            results=tuple(Event("rest", outcome._asdict()) for outcome, _ in outcomes),
        )


def _take(progress: SensorProgress, reading: Reading) -> tuple[SensorProgress, Outcome]:
    """Take a reading for a pose, unless it is refused."""
    info, before, is_bump = progress.info, progress.last, progress.moved_s < TURN_S
    progress = replace(progress, last=reading, moved_s=0.0)
    try:
        if (
            before is not None
            and is_bump
            and len({recognise(each, info.counts_per_g) for each in (before, reading)}) == 1
        ):
            return progress, Outcome(info.sensor_id, "the same again", "it was bumped, not laid anew")
        progress = replace(progress, checklist=progress.checklist.take(reading))
    except UnusableReading as problem:
        refused = f"{problem} The sensor is left out"
        return replace(progress, result=problem), Outcome(info.sensor_id, "pose", refused)
    except CalibrationError as problem:
        return progress, Outcome(info.sensor_id, "pose", str(problem))
    return progress, Outcome(info.sensor_id, progress.checklist.taken[-1].name)


def _calibrate(progress: SensorProgress, date: str) -> tuple[SensorProgress, list[Outcome]]:
    """Calibrate a complete sensor; poses that disagree are taken out, to be asked for again."""
    checklist, again = progress.checklist, progress.disagreed < AGAIN
    poses = checklist.taken
    doubted: dict[int, str] = {}
    result: Calibration | CalibrationError | None
    try:
        result = calibration = _fit(progress, date)
    except MovedPose as problem:
        doubted, result = {problem.index: str(problem)}, None if again else problem
    except CalibrationError as problem:
        result = problem
    else:
        unlike = unlike_faces(calibration) if again else {}
        doubted = {index: unlike[pose.face] for index, pose in enumerate(poses) if pose.face in unlike}
        result = None if doubted else calibration
    kept = [index for index in range(len(poses)) if index not in doubted]
    checklist = replace(
        checklist,
        taken=tuple(poses[index] for index in kept),
        done=tuple(checklist.done[index] for index in kept),
    )
    following = replace(progress, result=result, disagreed=progress.disagreed + 1, checklist=checklist)
    return following, [Outcome(progress.info.sensor_id, poses[index].name, reason) for index, reason in doubted.items()]


def _fit(progress: SensorProgress, date: str) -> Calibration:
    """Calibrate from all poses; a calibration that fails a check is marked as poor.

    Fresh orientations speak against it, too: each leaned pose, against a fit to the others.
    """
    info, poses = progress.info, progress.checklist.taken
    fit = partial(
        calibrate,
        sensor_id=info.sensor_id,
        chip=info.chip,
        counts_per_g=info.counts_per_g,
        priors=progress.checklist.priors,
        date=date,
        tool_version=__version__,
    )
    calibration = fit(poses)
    fresh = [
        f"pose {index + 1} (leaned) against a fit to the others: {reason.partition(': ')[2]}"
        for index, pose in enumerate(poses)
        if pose.face is None
        for reason in check_fresh(fit([*poses[:index], *poses[index + 1 :]]), [pose.reading])
    ]
    return calibration.marked_poor((*judge(calibration), *fresh))


def _outcome_text(outcome: Outcome, checklist: Checklist) -> str:
    """What became of a pose; then how well a deflection by 45° would be known, and what would better this most."""
    if outcome.refused:
        return f"{outcome.sensor_id}: {outcome.name} not taken: {outcome.refused}"
    parts = [f"{outcome.sensor_id}: {outcome.name}, {len(checklist.taken)} of {len(checklist.wanted)}"]
    known_deg = checklist.expected_deg()
    if np.isfinite(known_deg):
        parts.append(f"accuracy so far: ±{2 * known_deg:.2f}° at 45°")
    parts.append(f"to do: {counted_poses(checklist.missing)}" if checklist.missing else "complete")
    best, _, then_deg = min(checklist.worth(), key=lambda row: row[2], default=(None, 0.0, np.inf))
    if best is not None and np.isfinite(then_deg):
        parts.append(f"best next: {best.instruction} (then ±{2 * then_deg:.2f}°)")
    return "; ".join(parts)
