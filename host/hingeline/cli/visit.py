"""A command's visit to the sensors: boards opened and streaming, every line recorded, a live line on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from hingeline.capture import Capture, Seen
from hingeline.cli.screen import Screen
from hingeline.link.fleet import Fleet
from hingeline.recording import Recorder, new_session
from hingeline.samples import Sample, SensorFault
from hingeline.store import Store

LIVE_S = 0.1
"""Time between two updates of the live line."""

Describe = Callable[[dict[str, Sample], frozenset[str]], str]
"""What the live line says of the latest sample of each sensor, and of which sensors move."""


@dataclass
class Visit:
    """What a command works with: the store, the boards and the recorder of this session."""

    store: Store
    fleet: Fleet
    recorder: Recorder
    screen: Screen
    describe: Describe = lambda samples, moving: "moving" if moving else "still"
    _samples: dict[str, Sample] = field(default_factory=dict)
    _shown_s: float = 0.0

    def capture(
        self, sensor_ids: Collection[str], watch: Callable[[Seen], None] = lambda seen: None
    ) -> Capture:
        """Return the capture of rests of some sensors; `watch` is told everything too."""

        def told(seen: Seen) -> None:
            watch(seen)
            self._told(seen, sensor_ids)

        return Capture(self.fleet, sensor_ids, told=told)

    def _told(self, seen: Seen, sensor_ids: Collection[str]) -> None:
        event = seen.event
        if isinstance(event, SensorFault) and event.sensor_id in sensor_ids:
            self._samples.pop(event.sensor_id, None)
            words = "does not answer: check its wires" if event.code == "lost" else "answers again"
            self.screen.say(f"Sensor {event.sensor_id} {words}.")
        elif isinstance(event, Sample) and event.sensor_id in sensor_ids:
            self._samples[event.sensor_id] = event
            if event.time_s - self._shown_s >= LIVE_S:
                self._shown_s = event.time_s
                self.screen.passing(self.describe(self._samples, seen.moving))


@contextmanager
def visit(screen: Screen, ports: Sequence[str], aircraft: str, command: str) -> Iterator[Visit]:
    """Open the boards, let them stream and record every line while the context lasts.

    Raises
    ------
    HingelineError
        See `Fleet` and `Recorder`.
    """
    store = Store()
    with Fleet(ports) as fleet:
        folder = new_session(store.root, aircraft)
        with Recorder(folder, command=command, aircraft=aircraft) as recorder:
            screen.say(f"Recording in {folder}")
            fleet.record(recorder.line)
            fleet.start()
            yield Visit(store, fleet, recorder, screen)
