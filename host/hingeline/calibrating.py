"""Taking the rests of a calibration: any order, any number of sensors side by side on one table."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from hingeline import __version__
from hingeline.capture import Capture, Rests, Seen
from hingeline.samples import Sample, SensorInfo
from hingeline.store import Store, now_text
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError
from hingeline_calibration.fit import calibrate
from hingeline_calibration.placements import FACES, Rest, check_window, placement_name, recognise
from hingeline_calibration.priors import Priors
from hingeline_calibration.still import Window

LIFTED_DEG = 20.0
"""A carrier that was not tilted this far on the way has been pushed or bumped, not laid anew."""
LEANED_APART_DEG = 25.0
"""Leaned rests nearer to each other than this tell little new."""


@dataclass(frozen=True)
class Plan:
    """The rests to take.

    Attributes
    ----------
    yaws_deg
        Yaws at which each face is laid, in the order in which they are taken.
    leaned
        Number of leaned rests.
    """

    yaws_deg: tuple[float, ...] = (0.0, 180.0)
    leaned: int = 6

    @property
    def rests(self) -> int:
        """How many there are."""
        return len(FACES) * len(self.yaws_deg) + self.leaned


@dataclass(frozen=True)
class Taken:
    """What became of one sensor's rest: taken, or refused with the reason."""

    sensor_id: str
    name: str
    refused: str = ""


@dataclass
class _Progress:
    """The rests of one sensor so far, and how far it has been tilted since the last."""

    info: SensorInfo
    rests: list[Rest] = field(default_factory=list)
    last: Rest | None = None
    tilted_deg: float = 180.0


class Taking:
    """Takes rests as the sensors come to lie, and tells what is still missing."""

    def __init__(self, sensors: Sequence[SensorInfo], plan: Plan) -> None:
        self.plan = plan
        self._sensors = {info.sensor_id: _Progress(info) for info in sensors}

    @property
    def rests(self) -> Mapping[str, Sequence[Rest]]:
        """By sensor id, the rests taken so far."""
        return {name: tuple(progress.rests) for name, progress in self._sensors.items()}

    @property
    def done(self) -> bool:
        """Whether nothing is missing."""
        return not any(self.missing(name) for name in self._sensors)

    def missing(self, sensor_id: str) -> tuple[str, ...]:
        """Return the names of the rests that a sensor still lacks."""
        rests = self._sensors[sensor_id].rests
        have = {(rest.face, rest.yaw_deg) for rest in rests}
        faces = [(face, yaw) for yaw in self.plan.yaws_deg for face in FACES if (face, yaw) not in have]
        leaned = self.plan.leaned - sum(rest.face is None for rest in rests)
        return (*(placement_name(face, yaw) for face, yaw in faces), *("leaned",) * leaned)

    def run(self, capture: Capture, ask: Callable[[Taking], None]) -> Iterator[Taken]:
        """Yield what becomes of each rest until nothing is missing; `ask` is called before each.

        Raises
        ------
        HingelineError
            See `Capture.rest`.
        """
        while not self.done:
            ask(self)
            yield from self.take(capture.rest())

    def saw(self, seen: Seen) -> None:
        """Watch how far each carrier is tilted between its rests."""
        event = seen.event
        if isinstance(event, Sample) and event.sensor_id in self._sensors:
            progress = self._sensors[event.sensor_id]
            if progress.last is not None:
                tilt_deg = _between_deg(progress.last.window.mean_counts, event.counts)
                progress.tilted_deg = max(progress.tilted_deg, tilt_deg)

    def take(self, rests: Rests) -> tuple[Taken, ...]:
        """Take the rests of all sensors that have been laid anew."""
        return tuple(
            self._take(progress, rests)
            for progress in self._sensors.values()
            if progress.last is None or rests[progress.info.sensor_id].start_s != progress.last.window.start_s
        )

    def _take(self, progress: _Progress, rests: Rests) -> Taken:
        sensor_id, counts_per_g = progress.info.sensor_id, progress.info.counts_per_g
        window = rests[sensor_id]
        try:
            check_window(window, counts_per_g)
            face = recognise(window, counts_per_g)
        except CalibrationError as problem:
            return Taken(sensor_id, "rest", str(problem))
        before, lifted = progress.last, progress.tilted_deg >= LIFTED_DEG
        progress.last, progress.tilted_deg = Rest(window, face, None), 0.0
        if before is not None and before.face == face and not lifted:
            return Taken(
                sensor_id,
                f"{face or 'leaned'} again",
                "it was moved without being lifted: lift it, turn it end for end, lay it down",
            )
        rest, refused = self._new(progress, window, face)
        if rest is None:
            return Taken(sensor_id, face or "leaned", refused)
        progress.rests.append(rest)
        return Taken(sensor_id, rest.name)

    def _new(self, progress: _Progress, window: Window, face: str | None) -> tuple[Rest | None, str]:
        """Return the rest that a window is, or why it is not wanted."""
        same = [rest for rest in progress.rests if rest.face == face]
        if face is not None:
            if len(same) == len(self.plan.yaws_deg):
                return None, "this face is done: lay it on another"
            return Rest(window, face, self.plan.yaws_deg[len(same)]), ""
        if len(same) == self.plan.leaned:
            return None, "on no face, and no more leaned rests are wanted: lay it on a face"
        if any(_between_deg(rest.window.mean_counts, window.mean_counts) < LEANED_APART_DEG for rest in same):
            return None, "leaned as before: lean it another way"
        return Rest(window, None, None), ""


def fit_and_keep(store: Store, taking: Taking, sensor: SensorInfo, priors: Priors) -> Calibration:
    """Calibrate a sensor from its rests and keep the result.

    Raises
    ------
    CalibrationError
        See `hingeline_calibration.fit.calibrate`.
    StoreError
        It can't be kept.
    """
    calibration = calibrate(
        taking.rests[sensor.sensor_id],
        sensor_id=sensor.sensor_id,
        chip=sensor.chip,
        counts_per_g=sensor.counts_per_g,
        priors=priors,
        date=now_text(),
        tool_version=__version__,
    )
    store.save("calibration", sensor.sensor_id, calibration.to_dict())
    return calibration


def _between_deg(a: ArrayLike, b: ArrayLike) -> float:
    """Return the angle between two vectors (3,)."""
    first, second = (np.asarray(value, float) for value in (a, b))
    cosine = first @ second / (np.linalg.norm(first) * np.linalg.norm(second))
    return float(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))
