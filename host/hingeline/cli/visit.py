"""A command's visit to the sensors: what is asked, told, shown and captured, the same live and of a recording."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from hingeline.checks.results import Caution, Result, kind_of, write_result
from hingeline.cli.live import Bench, stopped
from hingeline.cli.screen import Screen
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.replay import Replay
from hingeline.device.samples import Sample, SensorFault, SensorInfo
from hingeline.errors import StoreError
from hingeline.live.keys import Key
from hingeline.live.stage import Stage
from hingeline.measure.capture import HOLD_S, Capture, Readings, Seen, TakenBack
from hingeline.measure.cautions import (
    date_cautions,
    datum_cautions,
    gravity_cautions,
    poor_cautions,
    temperature_cautions,
)
from hingeline.storage.calibrations import load_datum
from hingeline.storage.store import Store
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum

LIVE_S = 0.1
"""Time between two updates of the live line."""
KEY = "key"
"""The kind of event of a key that changed what is measured: with `after_s`, the time of the event it came after."""

Describe = Callable[[dict[str, Sample], frozenset[str]], str]
"""What the live line says of the latest sample of each sensor, and of which sensors move."""


@dataclass
class Visit:
    """What a command works with.

    Attributes
    ----------
    store
        Where calibrations, datum and settings come from.
    source
        The boards, or the recording.
    screen
        Where the command speaks.
    record
        Takes the kind and the fields of an event of the session.
    started
        Date and time of the run, UTC, in ISO 8601.
    asks
        Whether the user is asked for keys.
    choices
        What the command was told: of a replay, as it was recorded.
    bench
        The keys that are pressed, and what shows.
    stage
        What is shown.
    seats
        By sensor id, where each sits.
    takes_back
        What the rests that can be taken back are called, the last of them last: `capture` then raises `TakenBack`.
    takes_standing
        Whether a rest that is taken back can be taken again where it stands, at a key.
    """

    store: Store
    source: Fleet | Replay
    screen: Screen
    record: Callable[..., None]
    started: str
    asks: bool
    choices: Mapping[str, Any]
    bench: Bench
    stage: Stage
    _wait: Callable[[str], None]
    seats: Mapping[str, str] = field(default_factory=dict)
    takes_back: list[str] = field(default_factory=list)
    takes_standing: bool = True
    describe: Describe = lambda samples, moving: "moving" if moving else "still"
    _samples: dict[str, Sample] = field(default_factory=dict)
    _shown_s: float = 0.0
    _heeded: dict[str, Calibration] = field(default_factory=dict)
    _warned: set[tuple[str, str]] = field(default_factory=set)
    _frozen: frozenset[str] = frozenset()
    _replayed: deque[tuple[float, Key]] = field(default_factory=deque)

    @property
    def sensors(self) -> Mapping[str, SensorInfo]:
        """The sensors introduced so far, by sensor id."""
        return self.source.sensors

    @property
    def or_key(self) -> str:
        """Words for what a key does where a rest is waited for; empty where none is read."""
        return ", or press any key to take it as it is now" if self.bench.keys else ""

    def pause(self, text: str) -> None:
        """Wait for the Enter key, where the user may be asked; what the sensors said until then is dropped."""
        if self.asks:
            self.stage.rest_ears()
            self._wait(text)

    def ask(self, text: str) -> None:
        """Say what the user is to do now."""
        self.stage.ask(text)
        self.screen.say(text)

    def record_result(self, result: Result) -> None:
        """Record a result in the session."""
        self.record(kind_of(result), **write_result(result))

    def caution(self, text: str) -> None:
        """Say what a user should know before trusting a reading, and record it."""
        self.screen.say(f"Caution: {text}")
        self.record_result(Caution(text))

    def keep(self, save: Callable[[], object]) -> bool:
        """Return whether a save was done; what forbids it is told at the end, after all that was measured."""
        try:
            save()
        except StoreError as problem:
            self.screen.owe(problem)
            return False
        return True

    def heed(self, calibrations: Iterable[Calibration]) -> None:
        """Caution of the calibrations in use: of poor ones now, of their temperature once a sample leaves it."""
        for calibration in calibrations:
            if calibration.sensor_id not in self._heeded:
                self._heeded[calibration.sensor_id] = calibration
                for text in (*poor_cautions(calibration), *date_cautions(calibration, self.started)):
                    self.caution(text)

    def datum(self) -> Datum:
        """Return the datum that is kept, with a caution where it is old. Raises as `load_datum`."""
        datum = load_datum(self.store)
        for text in datum_cautions(datum, self._heeded.values(), self.started):
            self.caution(text)
        return datum

    def capture(
        self,
        sensor_ids: Collection[str],
        watch: Callable[[Seen], None] = lambda seen: None,
        hold_s: float = HOLD_S,
    ) -> Capture:
        """Return the capture of rests of some sensors; `watch` is told everything too.

        Each rest is held for `hold_s`, unless the command was told how long. A key may end the waiting with
        `TakenBack` or `Interrupted`.
        """

        def told(seen: Seen) -> None:
            watch(seen)
            self._told(seen, sensor_ids)
            for key in self._keys(seen.event.time_s):
                self._follow(key, capture)

        self.stage.seat({name: self.seats.get(name, name) for name in sensor_ids})
        hold_s = self.choices.get("hold_s") or hold_s
        capture = Capture(self.source, sensor_ids, hold_s=hold_s, told=told, took=self._took)
        return capture

    def _keys(self, time_s: float) -> Iterator[Key]:
        """Yield the keys pressed up to the event of a time, and record those that change what is measured."""
        while self._replayed and self._replayed[0][0] <= time_s:
            yield self._replayed.popleft()[1]
        while not self.bench.pressed.empty():
            key = self.bench.pressed.get()
            if key == "confirm" or (key == "back" and self.takes_back):
                self.record(KEY, key=key, after_s=time_s)
            yield key

    def _follow(self, key: Key, capture: Capture) -> None:
        if key == "units":
            self.stage.swap_units()
        elif key == "confirm":
            capture.confirm()
        elif key == "quit":
            raise stopped("Stopped at a key")
        elif self.takes_back:
            self.stage.took_back()
            anew = f" Move away and come back{self.or_key}." if self.takes_standing else ""
            self.screen.say(f"Taken back: {self.takes_back.pop()}.{anew}")
            raise TakenBack
        else:
            self.screen.say("Nothing to take back.")

    def _told(self, seen: Seen, sensor_ids: Collection[str]) -> None:
        self.stage.saw(seen)
        self.bench.check()
        if seen.frozen != self._frozen:
            self._tell_frozen(seen.frozen)
        event = seen.event
        if isinstance(event, SensorFault) and event.sensor_id in sensor_ids:
            self._samples.pop(event.sensor_id, None)
            words = "does not answer: check its wires" if event.code == "lost" else "answers again"
            self.screen.say(f"Sensor {event.sensor_id} {words}.")
        elif isinstance(event, Sample) and event.sensor_id in sensor_ids:
            self._samples[event.sensor_id] = event
            if event.time_s - self._shown_s >= LIVE_S:
                self._shown_s = event.time_s
                for sample in self._samples.values():
                    self._watch_temperature(sample)
                self.screen.passing(self.describe(self._samples, seen.moving))

    def _tell_frozen(self, frozen: frozenset[str]) -> None:
        for name in sorted(frozen - self._frozen):
            self.screen.say(f"Sensor {name} repeats one reading: it is frozen, it measures nothing.")
        for name in sorted(self._frozen - frozen):
            self.screen.say(f"Sensor {name} measures again.")
        self._frozen = frozen

    def _took(self, rests: Readings) -> None:
        self.stage.rest_ears()
        for name, reading in rests.items():
            if name in self._heeded:
                self._warn("gravity", name, gravity_cautions(self._heeded[name], reading))

    def _watch_temperature(self, sample: Sample) -> None:
        calibration = self._heeded.get(sample.sensor_id)
        if calibration is not None and ("temperature", sample.sensor_id) not in self._warned:
            texts = temperature_cautions(calibration, sample.temperature_c)
            self._warn("temperature", sample.sensor_id, texts)

    def _warn(self, of: str, sensor_id: str, texts: tuple[str, ...]) -> None:
        """Caution of a sensor, once of each kind."""
        if (of, sensor_id) not in self._warned:
            for text in texts:
                self._warned.add((of, sensor_id))
                self.caution(text)
