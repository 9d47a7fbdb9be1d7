"""Capture by stillness: the readings in which every sensor of a measurement rests at once."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import NamedTuple

from hingeline.device.samples import BoardGone, Event, Sample, SensorFault, SensorInfo, Source
from hingeline.errors import BoardLost, NotMeasurable
from hingeline_calibration.chips import chip_facts
from hingeline_calibration.still import Reading, StillWatch

HOLD_S = 0.7
"""How long a rest must last: common practice, no source."""
PATIENCE_S = 120.0
"""How long a person may take from one rest to the next."""
FROZEN_S = 0.3
"""Noise repeats no line of three axes for so long: a sensor that does has stopped measuring."""

Readings = dict[str, Reading]
"""By sensor id, the still stretch it is in."""


class TakenBack(Exception):
    """The user takes the last rest back; raised through `Capture` by who is told of everything seen."""


class Seen(NamedTuple):
    """What a screen is told of every event: the event, and which sensors move now, or repeat one line."""

    event: Event
    moving: frozenset[str]
    frozen: frozenset[str] = frozenset()


class Capture:
    """Waits for rests of some sensors of a source.

    Parameters
    ----------
    source
        Where the events come from.
    sensor_ids
        Sensors that all have to be still.
    hold_s
        How long a rest must last.
    told
        Called with everything seen, in its order.
    took
        Called with a rest that was found: nobody listens until the next is asked for.

    Attributes
    ----------
    hold_s
        As given.
    confirmed
        Whether the user had the last rest taken, by `confirm`.
    moved
        Whether any sensor had moved before the last rest.
    """

    def __init__(
        self,
        source: Source,
        sensor_ids: Collection[str],
        *,
        hold_s: float = HOLD_S,
        told: Callable[[Seen], None] = lambda seen: None,
        took: Callable[[Readings], None] = lambda rests: None,
    ) -> None:
        self.hold_s = hold_s
        self._events = iter(source)
        self._watches = {name: _watch(source.sensors[name], hold_s) for name in sensor_ids}
        self._taken: dict[str, float] = {}
        self._lost: set[str] = set()
        self._latest: dict[str, tuple[tuple[float, ...], float]] = {}
        self._frozen: frozenset[str] = frozenset()
        self._moving = frozenset(self._watches)
        self.confirmed = self.moved = False
        self._told, self._took = told, took

    def rest(
        self, *, all_moved: bool = False, patience_s: float = PATIENCE_S, standing_s: float | None = None
    ) -> Readings:
        """Return the next rest: every sensor still at once, and moved since the last one.

        Parameters
        ----------
        all_moved
            Whether every sensor has to have moved since, or any of them.
        patience_s
            How long to wait for it.
        standing_s
            After so long, a rest in which nothing has moved is returned too.

        Raises
        ------
        BoardLost
            A board was pulled or reset, or a sensor stopped answering and did not come back.
        NotMeasurable
            There was no such rest in `patience_s`, or the recording ended.
        """
        self.confirmed = False
        started_s: float | None = None
        for event in self._events:
            watched = self._see(event)
            started_s = event.time_s if started_s is None else started_s
            waited_s = event.time_s - started_s
            stood = self.confirmed or (standing_s is not None and waited_s > standing_s)
            since = self._still_since() if watched else None
            if since and (stood or self._fresh(since, all_moved)):
                self.moved, self._taken = self._fresh(since, all_moved=False), since
                readings = {name: watch.reading() for name, watch in self._watches.items()}
                rests = {name: reading for name, reading in readings.items() if reading is not None}
                self._took(rests)
                return rests
            if waited_s > patience_s:
                raise self._out_of_patience(patience_s)
        raise _ended()

    def confirm(self) -> None:
        """Take the next stillness for a rest, whether anything has moved since the last one or not."""
        self.confirmed = True

    def leave_out(self, sensor_id: str) -> None:
        """Wait for this sensor no more."""
        self._watches.pop(sensor_id, None)
        self._taken.pop(sensor_id, None)
        self._lost.discard(sensor_id)
        self._frozen -= {sensor_id}
        self._moving -= {sensor_id}

    def listen(self, for_s: float) -> None:
        """Let time pass, moving or not. Raises as `rest`."""
        started_s: float | None = None
        for event in self._events:
            self._see(event)
            started_s = event.time_s if started_s is None else started_s
            if event.time_s - started_s >= for_s:
                if self._lost:
                    raise self._out_of_patience(for_s)
                return
        raise _ended()

    def _see(self, event: Event) -> bool:
        """Take an event, and return whether it is of a sensor of the measurement."""
        if isinstance(event, BoardGone):
            raise event.error
        watch = self._watches.get(event.sensor_id)
        if watch is not None:
            self._take(event, watch)
            self._moving = _with(self._moving, event.sensor_id, watch.moving)
        self._told(Seen(event, self._moving, self._frozen))
        return watch is not None

    def _take(self, event: Sample | SensorFault, watch: StillWatch) -> None:
        if isinstance(event, Sample):
            watch.push(event.time_s, event.counts, event.temperature_c)
            self._notice_repeats(event)
        else:
            watch.interrupt()
            (self._lost.add if event.code == "lost" else self._lost.discard)(event.sensor_id)

    def _notice_repeats(self, sample: Sample) -> None:
        counts, since_s = self._latest.get(sample.sensor_id, ((), 0.0))
        if sample.counts != counts:
            since_s = sample.time_s
            self._latest[sample.sensor_id] = (sample.counts, since_s)
        self._frozen = _with(self._frozen, sample.sensor_id, sample.time_s - since_s >= FROZEN_S)

    def _still_since(self) -> dict[str, float] | None:
        """Return since when each sensor is still, None unless all are."""
        if self._lost or self._frozen or self._moving:
            return None
        since = {name: watch.still_since_s for name, watch in self._watches.items()}
        known = {name: start_s for name, start_s in since.items() if start_s is not None}
        return known if len(known) == len(since) else None

    def _fresh(self, since: dict[str, float], all_moved: bool) -> bool:
        moved = [start_s != self._taken.get(name) for name, start_s in since.items()]
        return all(moved) if all_moved else any(moved)

    def _out_of_patience(self, patience_s: float) -> BoardLost | NotMeasurable:
        if self._lost:
            return BoardLost(
                f"Sensor {', '.join(sorted(self._lost))} stopped answering and did not come back",
                "Check its four wires and the cable; then start again, what was recorded is kept",
            )
        if self._frozen:
            return BoardLost(
                f"Sensor {', '.join(sorted(self._frozen))} repeats one reading: it is frozen, it measures nothing",
                "Check its supply and wires, pull the cable and plug it in again; then start again",
            )
        restless = [name for name, watch in self._watches.items() if watch.moving]
        if not restless:
            return NotMeasurable(
                f"No new rest in {patience_s:.0f} s: nothing moved",
                "Start again, and move to what it asks for; then hold still",
            )
        return NotMeasurable(
            f"No new rest in {patience_s:.0f} s: sensor {', '.join(restless)} still moves",
            "Hold still for a second, off fans and shaking benches; then start again",
        )


def _with(names: frozenset[str], name: str, is_in: bool) -> frozenset[str]:
    """Return the names with one in them or not; the same set where that is as it was."""
    if (name in names) == is_in:
        return names
    return names | {name} if is_in else names - {name}


def _ended() -> NotMeasurable:
    return NotMeasurable(
        "The samples ended before the measurement did",
        "Plug the boards in and start again; of a recording there is no more",
    )


def _watch(sensor: SensorInfo, hold_s: float) -> StillWatch:
    return StillWatch(sensor.counts_per_g, hold_s, chip_facts(sensor.chip).step_counts)
