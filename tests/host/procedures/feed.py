"""What a runner is fed with in tests: a list of events. What it says, shows and records comes into lists.

There is no clock but the times of the events, no thread and no board.
"""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from types import SimpleNamespace

import numpy as np

from hingeline.checks.results import kind_of, write_result
from hingeline.device.samples import Sample, SensorFault, SensorInfo, Tick
from hingeline.procedures import sensing as sensing_module
from hingeline.procedures import speaker as speaker_module
from hingeline.procedures.keys import Keys, RecordedKey
from hingeline.procedures.procedure import Event, Message, Next, Procedure, Step
from hingeline.procedures.runner import Runner

LINE_S = 0.02
TICK_LINES = 3
"""So many lines of each sensor come in one beat."""
COUNTS_PER_DEG = 16384 * np.radians(1)
"""Of a chip of 16384 counts/g, near level."""
NOISE_COUNTS = 400e-6 * 16384 / np.sqrt(2 * LINE_S)
"""Of one line of such a chip of 400 µg/√Hz, white."""


class Bench:
    """A list of events of two sensors, l and r, as somebody moves them, and all that becomes of it.

    Functions may stand in the list: each is called when its turn comes, so that keys are pressed at their time.
    """

    def __init__(self, monkeypatch, *, period_s=0.0, **options):
        self.now_s = 100.0
        self.events = []
        self.sensors = {
            name: SensorInfo(name, "pico", "port", "mpu6050", 0, 0x68, 16384, 200, 44, "absolute", "ok")
            for name in "lr"
        }
        self.period_s = period_s
        self.said, self.data, self.passed, self.owed = [], [], [], []
        self.states, self.records, self.waited, self.kept = [], [], [], []
        self._noise = np.random.default_rng(1)
        self._angles = dict.fromkeys("lr", 0.0)
        self._time_s, self._lines = self.now_s, 0
        monkeypatch.setattr(sensing_module, "perf_counter", lambda: self.now_s)
        monkeypatch.setattr(speaker_module, "perf_counter", lambda: self.now_s)
        self.runner = Runner(
            **{
                "store": SimpleNamespace(save=lambda kind, key, payload: self.kept.append(key)),
                "source": self,
                "talk": self,
                "record": lambda kind, **fields: self.records.append((kind, fields)),
                "started": "2026-05-17T10:00:00Z",
                "asks": True,
                "choices": {},
                "wait": lambda runner, text: self.waited.append(text),
                "views": self,
                "seats": {"l": "left", "r": "right"},
                **options,
            }
        )

    # the source

    def __iter__(self):
        while self.events:
            event = self.events.pop(0)
            if isinstance(event, Callable):
                event()
            else:
                self.now_s = event.time_s
                yield event

    # the talk

    def say(self, text):
        self.said.append(text)

    def part(self, text):
        self.data.append(text)

    def passing(self, text):
        self.passed.append(text)

    def owe(self, problem):
        self.owed.append(problem)

    # the views

    def publish(self, state):
        """Keep the time, and the state as a view would draw it now."""
        self.states.append((self.now_s, state.at(self.now_s)))

    @property
    def shown(self):
        """The latest state."""
        return self.states[-1][1]

    def conditions(self):
        """The sensors' conditions, latest."""
        return [sensor.condition for sensor in self.shown.sensors]

    # what somebody does

    def hold(self, for_s, *, without="", frozen=""):
        """Hold still; some sensors are silent, or repeat their first line."""
        self._go(for_s, {}, without, frozen)
        return self

    def turn(self, by_deg, for_s=1.0, names="lr"):
        """Turn sensors by so much, evenly."""
        self._go(for_s, dict.fromkeys(names, by_deg / round(for_s / LINE_S)), "", "")
        return self

    def do(self, *deeds):
        """Have something done at this time."""
        self.events += deeds
        return self

    def press(self, *keys):
        """Press keys."""
        return self.do(*(lambda key=key: self.runner.keys.pressed.put(key) for key in keys))

    def fault(self, name, code):
        """A sensor is lost, or back."""
        return self.do(SensorFault(name, self._time_s, code, 5))

    def tick(self):
        """All that has arrived was taken."""
        return self.do(Tick(self._time_s))

    def _go(self, for_s, steps_deg, without, frozen):
        repeated = {}
        for _ in range(round(for_s / LINE_S)):
            self._time_s += LINE_S
            for name in "lr":
                self._angles[name] += steps_deg.get(name, 0.0)
                counts = self._noise.normal((self._angles[name] * COUNTS_PER_DEG, 0, 16384), NOISE_COUNTS)
                if name in frozen:
                    counts = repeated.setdefault(name, counts)
                if name not in without:
                    self.do(Sample(name, self._time_s, tuple(map(float, counts)), 4, 24.0, self._lines))
            self._lines += 1
            if self._lines % TICK_LINES == 0:
                self.tick()


def recorded(records, *, is_old=False):
    """The keys that a run recorded; an old file tells no number."""
    keys = [fields for kind, fields in records if kind == "key"]
    return Keys(recorded=deque(RecordedKey(**(fields | {"number": None} if is_old else fields)) for fields in keys))


def angle_deg(reading):
    """The angle that a reading of the bench has."""
    return float(reading.mean_counts[0]) / COUNTS_PER_DEG


@dataclass(frozen=True)
class Poses(Procedure):
    """Holds one pose after another; it keeps the left angle of each, None where it was left out."""

    names: tuple[str, ...]
    judged: Callable = lambda readings: ()
    can_skip: bool = False
    options: dict = field(default_factory=dict)
    angles: tuple[float | None, ...] = ()

    @property
    def step(self):
        if len(self.angles) == len(self.names):
            return None
        return Step(f"{self._name}: hold.", ("l", "r"), **self.options)

    def after(self, event):
        angle = round(angle_deg(event.readings["l"]), 1) + 0.0
        text = f"{self._name} is at {angle:.1f}°"
        return Next(
            replace(self, angles=(*self.angles, angle)),
            taken=self._name,
            messages=(Message(text, f"{angle:.1f}°", is_data=True),),
            results=(Event("pose", {"name": self._name, "angle": angle, "confirmed": event.confirmed}),),
        )

    def skipped(self):
        if not self.can_skip:
            return None
        return Next(replace(self, angles=(*self.angles, None)), taken=f"leaving out {self._name}")

    def judge(self, readings):
        return self.judged(readings)

    @property
    def _name(self):
        return self.names[len(self.angles)]


def events(following: Next) -> list[tuple[str, dict]]:
    """Return what a step records: kind and fields, as in a run."""
    return [
        (result.kind, dict(result.fields)) if isinstance(result, Event) else (kind_of(result), write_result(result))
        for result in following.results
    ]
