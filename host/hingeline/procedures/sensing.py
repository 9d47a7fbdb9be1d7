"""What the sensors of a step do: their stillness, their tracks, and what each shows at this moment."""

from __future__ import annotations

from collections.abc import Mapping
from time import perf_counter

from hingeline.device.samples import Sample, SensorFault, SensorInfo
from hingeline.measure.capture import Capture, Readings
from hingeline.measure.latest import Latest
from hingeline.procedures.procedure import Step, Taken
from hingeline.procedures.state import Condition, SensorState

HOST_SHARE, HOST_S = 1.25, 10.0
"""By the host's clock a person has so many times the patience by the boards' clocks, and so many seconds more: those
decide, for a replay has no others."""


class Sensing:
    """Feeds a capture with the sensors of a step, and keeps what a procedure and the views need of the samples.

    The sensors are as their boards introduced them, by sensor id; `hold_s` and `is_taken` as of `Capture`. Without
    `settles`, a surface that is still is taken to have come to its end, as in recordings of former versions.
    """

    def __init__(
        self,
        step: Step,
        sensors: Mapping[str, SensorInfo],
        hold_s: float,
        *,
        settles: bool = True,
        is_taken: bool = False,
    ) -> None:
        self._settles = settles
        of_step = {sensor_id: sensors[sensor_id] for sensor_id in step.sensors}
        self.capture = Capture(of_step, hold_s, is_taken=is_taken)
        self._latest = {sensor_id: Latest() for sensor_id in step.sensors}
        self._heard_s: dict[str, float] = {}
        self._lost: frozenset[str] = frozenset()
        self.expect(step)

    def serves(self, step: Step, hold_s: float) -> bool:
        """Whether it can go on for a step: of the same sensors, or fewer; the others are left out."""
        capture = self.capture
        if capture.hold_s != hold_s or not set(step.sensors) <= capture.sensor_ids:
            return False
        for sensor_id in capture.sensor_ids - set(step.sensors):
            capture.leave_out(sensor_id)
            del self._latest[sensor_id]
        return True

    def expect(self, step: Step) -> None:
        """Wait for what a step waits for; its tracks begin now."""
        self.capture.expect(
            all_moved=step.all_moved,
            patience_s=step.patience_s,
            standing_s=step.standing_s,
            settles=step.settles if self._settles else (),
        )
        self._tracks: dict[str, list[Sample]] = {sensor_id: [] for sensor_id in step.sensors if step.is_tracked}
        self._lasts_s, self._patience_s = step.lasts_s, step.patience_s
        self._until_s = perf_counter() + HOST_SHARE * (step.lasts_s or step.patience_s) + HOST_S
        self._first_s: float | None = None

    def check_patience(self, now_s: float) -> None:
        """End a wait by the host's clock, at `now_s`, where the boards' clocks do not: no sample comes, or they stand.

        Raises as `Capture.out_of_patience`.
        """
        if now_s > self._until_s:
            raise self.capture.out_of_patience(self._lasts_s or self._patience_s)

    def push(self, event: Sample | SensorFault) -> Taken | None:
        """Take an event; give what the step waits for once it is complete. Raises as `Capture.push`."""
        if event.sensor_id in self._latest:
            now_s = perf_counter()
            if not self._heard_s:
                self._heard_s = dict.fromkeys(self._latest, now_s)
            if isinstance(event, Sample):
                self._heard_s[event.sensor_id] = now_s
                self._latest[event.sensor_id].push(event)
                if event.sensor_id in self._tracks:
                    self._tracks[event.sensor_id].append(event)
            else:
                self._latest[event.sensor_id].clear()
                self._lost |= {event.sensor_id}
        readings = self.capture.push(event)
        if self._lasts_s is None:
            return None if readings is None else self._taken(readings)
        self._first_s = event.time_s if self._first_s is None else self._first_s
        if event.time_s - self._first_s < self._lasts_s:
            return None
        if self.capture.lost:
            raise self.capture.out_of_patience(self._lasts_s)
        return self._taken({})

    def _taken(self, readings: Readings) -> Taken:
        capture = self.capture
        tracks = {sensor_id: tuple(samples) for sensor_id, samples in self._tracks.items()}
        return Taken(readings, tracks, capture.moved, capture.confirmed, dict(capture.moved_s), self._lost)

    def silence(self) -> None:
        """Nobody listens until the next sample comes: that the sensors are silent means nothing."""
        self._heard_s = {}

    @property
    def averages(self) -> Readings | None:
        """What each sensor shows at this moment; None while one shows nothing."""
        windows = {
            sensor_id: latest.average(sensor_id in self.capture.moving) for sensor_id, latest in self._latest.items()
        }
        known = {sensor_id: window for sensor_id, window in windows.items() if window is not None}
        return known if known and len(known) == len(windows) else None

    @property
    def temperatures_c(self) -> dict[str, float | None]:
        """By sensor id, of its chip."""
        return {sensor_id: latest.temperature_c for sensor_id, latest in self._latest.items()}

    def states(self, seats: Mapping[str, str]) -> tuple[SensorState, ...]:
        """What each sensor does; `seats` tells where it sits."""
        return tuple(
            SensorState(
                seats.get(sensor_id, sensor_id),
                sensor_id,
                self._condition(sensor_id),
                self._heard_s.get(sensor_id, 0.0),
                latest.temperature_c,
            )
            for sensor_id, latest in self._latest.items()
        )

    def _condition(self, sensor_id: str) -> Condition:
        if not self._heard_s:
            return "waiting"
        if sensor_id in self.capture.lost:
            return "lost"
        if sensor_id in self.capture.frozen:
            return "frozen"
        return "moving" if sensor_id in self.capture.moving else "live"
