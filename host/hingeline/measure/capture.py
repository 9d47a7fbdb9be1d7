"""Stillness takes the readings: every sensor of a measurement is still at once, and has moved since the last time."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

import numpy as np

from hingeline.device.samples import BoardGone, Event, Sample, SensorFault, SensorInfo, Tick
from hingeline.errors import BoardLost, NotMeasurable
from hingeline_calibration.budget import COVERAGE_FACTOR
from hingeline_calibration.chips import chip_facts, noise_ceiling_g
from hingeline_calibration.still import Reading, StillWatch

HOLD_S = 0.7
"""How long a rest must last: common practice, no source."""
PATIENCE_S = 120.0
"""How long a person may take from one rest to the next."""
FROZEN_S = 0.3
"""A sensor that repeats one line of three axes for this long has stopped measuring: noise never does so."""

DEAD_S = 2.0
"""An axis that repeats one value for this long is dead, even in a chip of coarse steps."""

SETTLED_DEG, SETTLING_S = 0.08, 4.0
"""What settles is read once its end is known to this, at 95 %, or it has been still so long: the ± says the rest.
Common practice, no source: two such readings make a deflection, of which a third of 0.3° decides nothing."""
LOOK_S = 0.1
"""How often it is looked at: a block of lines takes as long."""

Readings = dict[str, Reading]
"""By sensor id, the still stretch it is in."""


class Capture:
    """Takes the events of some sensors, by sensor id, and gives their readings once all are still.

    Sensors that are `moving`, `frozen` or `lost` move now, repeat one line, or stopped answering. Before the last
    reading any had `moved`, or it was `confirmed` by `take_now`. `moved_s` is the longest movement of each since a
    reading was expected. With `is_taken` the stillness of the beginning was taken already: each has to move first.

    Examples
    --------
    >>> from hingeline.device.samples import Sample, SensorInfo
    >>> sensor = SensorInfo("a-0", "pico", "COM3", "mpu6050", 0, 0x68, 16384, 200, 44, "absolute", "ok")
    >>> capture = Capture({"a-0": sensor})
    >>> capture.expect()
    >>> noise = (0, 31, -18, 44, -27, 9, -40, 22, 13, -35)
    >>> lines = [Sample("a-0", n / 50, (0.0, float(noise[n % 10]), 16384.0 + noise[(n * 7 + 3) % 10]), 4, 22.0, n)
    ...          for n in range(100)]
    >>> readings = next(filter(None, map(capture.push, lines)))
    >>> print(f"{readings['a-0'].mean_counts[2]:.0f} counts along z")
    16386 counts along z
    """

    def __init__(self, sensors: Mapping[str, SensorInfo], hold_s: float = HOLD_S, *, is_taken: bool = False) -> None:
        self.hold_s, self._is_taken = hold_s, is_taken
        self._watches = {
            sensor_id: StillWatch(
                info.counts_per_g,
                hold_s,
                chip_facts(info.chip).step_counts,
                noise_ceiling_g(info.chip, info.filter_hz),
            )
            for sensor_id, info in sensors.items()
        }
        self._taken: dict[str, float] = {}
        self._latest: dict[str, tuple[tuple[float | None, ...], tuple[float, ...]]] = {}
        self.moving = frozenset(self._watches)
        self.frozen: frozenset[str] = frozenset()
        self.lost: frozenset[str] = frozenset()
        self._still_s: dict[str, float] = {}
        self.moved = False
        self.expect()

    @property
    def sensor_ids(self) -> frozenset[str]:
        """Of those that have to be still."""
        return frozenset(self._watches)

    def expect(
        self,
        *,
        all_moved: bool = False,
        patience_s: float = PATIENCE_S,
        standing_s: float | None = None,
        settles: Collection[str] = (),
    ) -> None:
        """Wait for the next reading, for which any sensor has to have moved, or all; after `standing_s` none has to.

        Sensors on what `settles` are waited for until their end is known to `SETTLED_DEG`, for `SETTLING_S` at most.
        """
        self._all_moved, self._patience_s, self._standing_s = all_moved, patience_s, standing_s
        self._settles, self._looked_s = settles, -math.inf
        self._started_s: float | None = None
        self.confirmed = False
        self.moved_s = dict.fromkeys(self._watches, 0.0)

    def take_now(self) -> None:
        """Take the next stillness for a reading, whether anything has moved since the last one or not."""
        self.confirmed = True

    def leave_out(self, sensor_id: str) -> None:
        """Wait for this sensor no more."""
        self._watches.pop(sensor_id, None)
        self._taken.pop(sensor_id, None)
        self.lost, self.frozen, self.moving = (
            sensors - {sensor_id} for sensors in (self.lost, self.frozen, self.moving)
        )

    def push(self, event: Event) -> Readings | None:
        """Take one event; give the readings that it completes, if it does.

        Raises `BoardLost` of a board that was pulled or reset, and as `out_of_patience` says where none came to rest.
        """
        if isinstance(event, BoardGone):
            raise event.error
        if isinstance(event, Tick):
            return None
        watch = self._watches.get(event.sensor_id)
        if watch is not None:
            self._take(event, watch)
        self._started_s = event.time_s if self._started_s is None else self._started_s
        waited_s = event.time_s - self._started_s
        standing = self.confirmed or (self._standing_s is not None and waited_s > self._standing_s)
        since = self._still_since() if watch is not None else None
        if since and (standing or self._fresh(since, self._all_moved)):
            readings = self._settled(event.time_s, event.time_s - max(since.values()))
            if readings:
                self.moved, self._taken = self._fresh(since, all_moved=False), since
                return readings
        if waited_s > self._patience_s:
            raise self.out_of_patience(self._patience_s)
        return None

    def out_of_patience(self, patience_s: float) -> BoardLost | NotMeasurable:
        """Say why there has been no reading for this long."""
        if self.lost:
            return BoardLost(
                f"Sensor {', '.join(sorted(self.lost))} stopped answering and did not come back",
                "Check its four wires and the cable; then start again, what was recorded is kept",
            )
        if self.frozen:
            return BoardLost(
                f"Sensor {', '.join(sorted(self.frozen))} repeats one reading: it is frozen, it measures nothing",
                "Check its supply and wires, pull the cable and plug it in again; then start again",
            )
        restless = [sensor_id for sensor_id, watch in self._watches.items() if watch.moving]
        if not restless:
            return NotMeasurable(
                f"No new reading in {patience_s:.0f} s: nothing moved",
                "Start again, and move to what it asks for; then hold still",
            )
        return NotMeasurable(
            f"No new reading in {patience_s:.0f} s: sensor {', '.join(restless)} still moves",
            "Hold still for a second, away from fans and shaking benches; then start again",
        )

    def _take(self, event: Sample | SensorFault, watch: StillWatch) -> None:
        sensor_id, time_s = event.sensor_id, event.time_s
        if isinstance(event, Sample):
            if self._is_taken:
                self._taken.setdefault(sensor_id, time_s)
            watch.push(time_s, event.counts, event.temperature_c)
            self.frozen = _with(self.frozen, sensor_id, self._repeats(event))
        else:
            watch.interrupt()
            self.lost = _with(self.lost, sensor_id, event.code == "lost")
        if not watch.moving:
            if sensor_id in self.moving and sensor_id in self._still_s:
                moved_s = time_s - self._still_s[sensor_id] - self.hold_s
                self.moved_s[sensor_id] = max(self.moved_s[sensor_id], moved_s)
            self._still_s[sensor_id] = time_s
        self.moving = _with(self.moving, sensor_id, watch.moving)

    def _repeats(self, sample: Sample) -> bool:
        """Whether a sensor repeats its line for longer than noise does, or one axis of it."""
        latest, since_s = self._latest.get(sample.sensor_id, ((None,) * 3, (sample.time_s,) * 3))
        since_s = tuple(
            start_s if value == before else sample.time_s
            for value, before, start_s in zip(sample.counts, latest, since_s, strict=True)
        )
        self._latest[sample.sensor_id] = sample.counts, since_s
        return sample.time_s - max(since_s) >= FROZEN_S or sample.time_s - min(since_s) >= DEAD_S

    def _still_since(self) -> dict[str, float] | None:
        """Since when each sensor is still, None unless all are."""
        if self.lost or self.frozen or self.moving:
            return None
        since = {sensor_id: watch.still_since_s for sensor_id, watch in self._watches.items()}
        known = {sensor_id: start_s for sensor_id, start_s in since.items() if start_s is not None}
        return known if len(known) == len(since) else None

    def _settled(self, now_s: float, lasted_s: float) -> Readings | None:
        """The readings of a rest, unless a longer one tells more of where it ends; a key takes them as they are."""
        if self._settles and now_s - self._looked_s < LOOK_S:
            return None
        self._looked_s = now_s
        readings = {
            sensor_id: reading
            for sensor_id, watch in self._watches.items()
            if (reading := watch.reading(settles=sensor_id in self._settles)) is not None
        }
        settling = [reading for sensor_id, reading in readings.items() if sensor_id in self._settles]
        is_enough = self.confirmed or lasted_s >= SETTLING_S or all(map(_is_settled, settling))
        return readings if is_enough else None

    def _fresh(self, since: dict[str, float], all_moved: bool) -> bool:
        moved = [start_s != self._taken.get(sensor_id) for sensor_id, start_s in since.items()]
        return all(moved) if all_moved else any(moved)


def _is_settled(reading: Reading) -> bool:
    """Whether the direction of a reading is known to `SETTLED_DEG` at 95 %, root mean square over the axes."""
    deviation = math.sqrt(float(np.trace(reading.end_counts2)) / 3)
    limit = math.radians(SETTLED_DEG) * float(np.linalg.norm(reading.mean_counts))
    return COVERAGE_FACTOR * deviation <= limit


def _with(names: frozenset[str], name: str, is_in: bool) -> frozenset[str]:
    """The names with this name in them, or without it."""
    return names | {name} if is_in else names - {name}
