"""A host that watches sensors, in a process of its own: `python -m tests.bench.watcher SECONDS PORT...`.

All that a measurement does with its samples: lines recorded, stillness of every sensor, and again and again a state
with the verdicts of a throw, drawn on the large screen. The seconds are of the boards' clocks. Told as JSON: how many
samples, the processor time, how many states, and how long after it was written each sample (see `feeder`) was drawn.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from time import monotonic_ns, process_time

from rich.console import Console
from tests.bench.sensors import calibration

from hingeline.checks.judgement import Moment
from hingeline.checks.throws import ThrowsCheck
from hingeline.demo.job import SHEET
from hingeline.device.link.decoder import Line, sample_fields
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import Event, Sample, SensorInfo
from hingeline.errors import HingelineError
from hingeline.live.screen import LiveScreen
from hingeline.live.showing import Showing
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.procedures.procedure import Next, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.state import State
from hingeline.rig import load_sheet
from hingeline.rig.kinds import BOTH
from hingeline.storage.recorder import Recorder
from hingeline.storage.store import Store
from hingeline_protocol.messages import TICKS_PERIOD_US

WARM_S = 3.0
"""Passes before anything is counted."""


class Timed:
    """Source, views and last view at once: it notes of each sample when a state that holds it had been drawn."""

    beats = 1

    def __init__(self, fleet: Fleet) -> None:
        self.ages_ms: list[float] = []
        self.written_us: dict[tuple[str, int], int] = {}
        self.samples = self.states = 0
        self.began_s = 0.0
        self._fleet = fleet
        self._showing: Showing | None = None
        self._taken: list[int] = []
        self._published: deque[tuple[tuple[float, ...], list[int]]] = deque()

    @property
    def sensors(self) -> Mapping[str, SensorInfo]:
        return self._fleet.sensors

    @property
    def period_s(self) -> float:
        return self._showing.period_s if self._showing else 0.0

    def __iter__(self) -> Iterator[Event]:
        for event in self._fleet:
            if isinstance(event, Sample):
                self.samples += 1
                self._taken.append(self.written_us.pop((event.sensor_id, event.sequence)))
            yield event

    def show_in(self, showing: Showing) -> None:
        """Give the states to these views from now on."""
        self._showing = showing

    def publish(self, state: State) -> None:
        """Give a state to the views, and note which samples it is the first to hold."""
        self._published.append((_key(state), self._taken))
        self._taken = []
        if self._showing is not None:
            self._showing.publish(state)

    def show(self, state: State) -> None:
        """Note that all views before this one have shown a state."""
        now_us, key = monotonic_ns() // 1000, _key(state)
        while self._published and self._published[0][0] <= key:
            _, ticks = self._published.popleft()
            self.ages_ms += [(now_us - ticks_us) % TICKS_PERIOD_US / 1000 for ticks_us in ticks]
        self.states += 1

    def begin(self, procedure: Watching) -> None:
        """Count from here on, once it is warm."""
        if procedure.check is not None and len(procedure.left_s) == 1:
            self.ages_ms.clear()
            self.samples, self.states, self.began_s = 0, 0, process_time()


class Silence:
    """Says nothing."""

    def say(self, text: str) -> None: ...

    def part(self, text: str) -> None: ...

    def passing(self, text: str) -> None: ...

    def owe(self, problem: HingelineError) -> None: ...


def _key(state: State) -> tuple[float, ...]:
    """Tells which samples a state holds: those heard by then."""
    return tuple(sensor.heard_s for sensor in state.sensors)


@dataclass(frozen=True)
class Watching(Procedure):
    """A neutral of all sensors, then some whiles, one after the other."""

    sensors: tuple[str, ...]
    left_s: tuple[float, ...]
    check: ThrowsCheck | None = None

    @property
    def step(self) -> Step | None:
        if self.check is None:
            return Step("flap: sticks centred, hands off.", self.sensors)
        return Step("flap: watch.", self.sensors, lasts_s=self.left_s[0]) if self.left_s else None

    def after(self, event: Taken) -> Next[Watching]:
        if self.check is None:
            sides = tuple(
                Instrument(side, name, calibration(name)) for side, name in zip(BOTH, self.sensors, strict=False)
            )
            check = ThrowsCheck(load_sheet(SHEET), "flap", NeutralReading(sides, event.readings))
            return Next(replace(self, check=check))
        return Next(replace(self, left_s=self.left_s[1:]))

    def judge(self, readings: Readings) -> tuple[Moment, ...]:
        return () if self.check is None else self.check.moments(self.check.positions[0], readings)


def watch(for_s: float, ports: list[str]) -> dict[str, object]:
    """Watch for so long; see the module."""
    console = Console(file=open(os.devnull, "w"), force_terminal=True, width=120, height=40)  # noqa: SIM115
    with (
        tempfile.TemporaryDirectory() as folder,
        Recorder(Path(folder) / "1.log") as recorder,
        Fleet(ports) as fleet,
    ):
        timed = Timed(fleet)
        ids = {(info.port, info.sensor_id.rpartition("-")[2]): name for name, info in fleet.sensors.items()}

        def tap(lines: Sequence[Line]) -> None:
            recorder.lines(lines)
            for line in lines:
                if (fields := sample_fields(line.raw)) is not None:
                    timed.written_us[ids[line.port, str(fields[0])], fields[1]] = fields[2]

        fleet.record(tap)
        fleet.ticking = True
        runner = Runner(
            store=Store(Path(folder)),
            source=timed,
            talk=Silence(),
            record=lambda kind, **fields: None,
            started="2026-05-17T10:00:00Z",
            asks=False,
            choices={},
            wait=lambda runner, text: None,
            views=timed,
            seats=dict.fromkeys(fleet.sensors, "left"),
            on_step=timed.begin,
        )
        with LiveScreen(console, False) as screen, Showing([screen, timed]) as showing:
            timed.show_in(showing)
            fleet.start()
            runner.run(Watching(tuple(fleet.sensors), (WARM_S, for_s)))
            cpu_s = process_time() - timed.began_s
        fleet.record_no_more()
    return {"samples": timed.samples, "cpu_s": cpu_s, "ages_ms": timed.ages_ms, "states": timed.states}


if __name__ == "__main__":
    print(json.dumps(watch(float(sys.argv[1]), sys.argv[2:])))
