"""The runner: feeds a procedure from live boards or a recording, heeds keys, says, shows and records what comes of it.

Ask, reading, take back, skip, go on and resume stand here, once, for all procedures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Generic, TypeVar

from hingeline.checks.results import Caution, Result, kind_of, write_result
from hingeline.device.link.fleet import Fleet
from hingeline.device.link.replay import Replay
from hingeline.device.samples import BoardGone, Sample, SensorFault, SensorInfo, Tick
from hingeline.errors import Interrupted, NotMeasurable, StoreError
from hingeline.procedures.keys import ASIDE, HELP_TEXT, KEY, Key
from hingeline.procedures.notices import Notices
from hingeline.procedures.procedure import Event, Next, P, Step, Taken
from hingeline.procedures.sensing import Sensing
from hingeline.procedures.speaker import Speaker
from hingeline.storage.calibrations import load_datum
from hingeline.storage.clock import as_set_now
from hingeline.storage.lost import save_lost
from hingeline.storage.store import Store
from hingeline.units import counted
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum

Dated = TypeVar("Dated", Calibration, Datum)
PASSING_S = 0.1
"""Time between two updates of the line that passes."""
_NOTHING_TO: dict[Key, str] = {"back": "There is nothing to take back.", "next": "There is nothing to leave out here."}


@dataclass(frozen=True)
class Former(Generic[P]):
    """A procedure as it was before something was `taken`, and so many `results` recorded; a key takes that back."""

    procedure: P
    taken: str
    is_reading: bool
    results: int


Ways = Mapping[Key, Next[P] | Former[P] | None]
"""By the key that leads on: to a procedure, or back to the former one; None where it can't."""


def stopped(how: str) -> Interrupted:
    """What ends a command that records when the person stops it."""
    return Interrupted(how, "What was recorded so far is kept; `hingeline` alone names the next step")


@dataclass(kw_only=True)
class Runner(Speaker):
    """What a command measures with, live or of a recording."""

    store: Store  # where calibrations, datum and settings come from
    source: Fleet | Replay
    record: Callable[..., None]  # takes the kind and the fields of an event of the run
    started: str  # date and time of the run, UTC, in ISO 8601
    asks: bool  # the person is asked for keys
    choices: Mapping[str, Any]  # what the command was told: of a replay, as it was recorded
    settles: bool = True  # a surface is read when it has settled; in recordings of former versions, when it is still
    wait: Callable[[Runner, str], None]  # waits for a key, with words for what for; what the sensors said is dropped
    on_step: Callable[[Any], None] = lambda procedure: None  # before each wait: whoever plays the person acts here
    _passing_s: float = 0.0

    def __post_init__(self) -> None:
        self._notices = Notices(self.say, self.caution)
        self._lost: set[str] = set()

    @property
    def sensors(self) -> Mapping[str, SensorInfo]:
        """The sensors introduced so far, by sensor id."""
        return self.source.sensors

    def record_result(self, result: Result | Event) -> None:
        """Record a result, or what else happened, in the run."""
        if isinstance(result, Event):
            self.record(result.kind, **result.fields)
        else:
            self.record(kind_of(result), **write_result(result))

    def caution(self, text: str) -> None:
        """Say what a person should know before trusting a reading, and record it."""
        self.say(f"Caution: {text}")
        self.record_result(Caution(text))

    def save(self, save: Callable[[], object]) -> bool:
        """Whether a save was done; what forbids it is told at the end, after all that was measured."""
        try:
            save()
        except StoreError as problem:
            self.talk.owe(problem)
            return False
        return True

    def heed(self, calibrations: Iterable[Calibration]) -> None:
        """Caution of the calibrations in use, now and as the samples come."""
        self._notices.heed((_as_set_now(self.store, each) for each in calibrations), self.started)

    def datum(self) -> Datum:
        """The datum that is kept, with a caution where it is old. Raises as `load_datum`."""
        datum = load_datum(self.store)
        self._notices.heed_datum(_as_set_now(self.store, datum), self.started)
        return datum

    def run(self, procedure: P) -> P:
        """Go through a procedure, and give it as it is at its end.

        Raises `HingelineError`, `CalibrationError`: a board or sensor was lost, nothing came to rest in time, the
        procedure can't go on, or the person stopped (`Interrupted`).
        """
        former: list[Former[P]] = []
        self._sensing, asked, is_again = None, "", False
        while (step := procedure.step) is not None:
            if step.ask != asked:
                self.ask(step.ask, is_aloud=step.is_aloud and not step.is_pause)
                asked = step.ask
            self.on_step(procedure)
            event = self._await(procedure, step, former[-1] if former else None, is_again)
            if is_again := isinstance(event, Former):
                former.pop()
                procedure = event.procedure
                self._take_back(event.taken, procedure.step, event.is_reading)
                asked = ""
                continue
            following = procedure.after(event) if isinstance(event, Taken) else event
            is_reading = bool(following.taken) and isinstance(event, Taken)
            if following.taken:
                former.append(Former(procedure, following.taken, is_reading, len(following.results)))
            for result in following.results:
                self.record_result(result)
            self.state = replace(self.state, taken=self.state.taken + is_reading)
            for message in following.messages:
                self.say(*message)
            procedure = following.procedure
        self._silence()
        return procedure

    def _await(self, procedure: P, step: Step, former: Former[P] | None, is_again: bool) -> Taken | Next[P] | Former[P]:
        """What the step waits for; what follows where the person goes on without it; or what a key goes back to."""
        if step.is_pause:
            if self.asks:
                self._silence()
                self.wait(self, step.ask)
            return Taken({})
        sensing = self._sense(step, is_again)
        ways: Ways[P] = {"back": former, "next": procedure.skipped()}
        for event in self.source:
            if isinstance(event, BoardGone):
                for sensor_id in step.sensors:
                    self._keep_lost(sensor_id)
                raise event.error
            if isinstance(event, Tick):
                for key in self.keys.aside():
                    self.heed_aside(key)
                self.publish_moment(procedure, sensing)
                sensing.check_patience(event.time_s)
                continue
            for key, is_recorded in self.keys.due(event.time_s):
                if (follows := self._heed(key, is_recorded, event.time_s, ways, sensing)) is not None:
                    return follows
            if (taken := self._push(event, sensing, step)) is not None:
                return taken
        raise NotMeasurable(
            "The samples ended before the measurement did",
            "Plug the boards in and start again; a recording holds no more",
        )

    def _sense(self, step: Step, is_again: bool) -> Sensing:
        hold_s = self.choices.get("hold_s") or step.hold_s
        if self._sensing is None or not self._sensing.serves(step, hold_s):
            self._sensing = Sensing(step, self.sensors, hold_s, settles=self.settles, is_taken=is_again)
        else:
            self._sensing.expect(step)
        return self._sensing

    def _push(self, event: Sample | SensorFault, sensing: Sensing, step: Step) -> Taken | None:
        """Feed an event, say what is to be noticed, and give what the step waited for once it is complete."""
        try:
            taken = sensing.push(event)
        except NotMeasurable as problem:
            if not step.go_on:
                raise
            cure = f"{problem.cure}. What was recorded is kept; go on with `{step.go_on}`"
            raise NotMeasurable(problem.message, cure) from problem
        self._notices.notice(event, sensing.capture)
        if isinstance(event, SensorFault) and event.sensor_id in step.sensors and event.code == "lost":
            self._keep_lost(event.sensor_id)
        if event.time_s - self._passing_s >= PASSING_S:
            self._passing_s = event.time_s
            moving = sensing.capture.moving
            self._notices.notice_temperatures(sensing.temperatures_c)
            self._notices.notice_motion(bool(moving), event.time_s, step.restless)
            self.talk.passing(f"{counted(len(moving), 'sensor')} moving" if moving else step.while_still)
        if taken is not None and taken.readings:
            self._notices.notice_readings(taken.readings)
            self._silence()
        return taken

    def _keep_lost(self, sensor_id: str) -> None:
        """Keep for the neutrals of later runs that a sensor stopped answering in this one."""
        if sensor_id not in self._lost:
            self._lost.add(sensor_id)
            self.save(lambda: save_lost(self.store, sensor_id, self.started))

    def _silence(self) -> None:
        """Nobody listens for a while: the views must not take the sensors for lost."""
        if self._sensing is not None:
            self._sensing.silence()
            self.publish()

    def _heed(
        self, key: Key, is_recorded: bool, time_s: float, ways: Ways[P], sensing: Sensing
    ) -> Next[P] | Former[P] | None:
        """Heed a key, and record it where it changes the measurement; give the way on, if it leads on."""
        if key in ASIDE:
            self.heed_aside(key)
            return None
        way = ways.get(key)
        if key in ways and way is None:
            self.say(_NOTHING_TO[key])
            return None
        if not is_recorded:
            several = {"results": way.results} if isinstance(way, Former) and way.results > 1 else {}
            self.record(KEY, key=key, after_s=time_s, number=self.keys.number, **several)
        if key == "take":
            sensing.capture.take_now()
        return way

    def heed_aside(self, key: Key) -> None:
        """Heed a key that changes nothing that is measured. Raises `Interrupted` at the one that stops."""
        if key == "quit":
            raise stopped("Stopped with Q")
        if key == "help":
            self.say(HELP_TEXT)
        elif key == "units":
            self._swap_units()


def _as_set_now(store: Store, dated: Dated) -> Dated:
    """The same with its date as the clock that is set now would have told it."""
    return replace(dated, date=as_set_now(store, dated.date))
