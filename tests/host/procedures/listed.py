"""A runner that is fed from a list: no boards, no threads, no waiting."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from hingeline.device.samples import Sample, SensorInfo
from hingeline.errors import HingelineError
from hingeline.procedures.runner import Runner
from hingeline.storage.store import Store


@dataclass
class Talk:
    """Keeps what is said."""

    lines: list[str] = field(default_factory=list)
    owed: list[HingelineError] = field(default_factory=list)

    def say(self, text: str) -> None:
        self.lines.append(text)

    def part(self, text: str) -> None:
        self.lines.append(text)

    def passing(self, text: str) -> None:
        pass

    def owe(self, problem: HingelineError) -> None:
        self.owed.append(problem)


class Listed:
    """Samples as they come, of these sensors; they are gone through once."""

    def __init__(self, sensors: Mapping[str, SensorInfo], samples: Iterable[Sample] = ()) -> None:
        self.sensors, self._samples = dict(sensors), iter(samples)

    def __iter__(self):
        return self._samples


def runner_of(store: Store, source: Listed, *, asks: bool = False, waits: list[str] | None = None, **choices) -> Runner:
    """A runner; its `talk.lines` have what was said, its `events` what was recorded, `waits` what for it waited."""
    events: list[tuple[str, dict]] = []
    runner = Runner(
        store=store,
        source=source,
        talk=Talk(),
        record=lambda kind, **fields: events.append((kind, fields)),
        started="2026-01-01T00:00:00+00:00",
        asks=asks,
        choices=choices,
        wait=lambda runner, text: (waits if waits is not None else []).append(text),
    )
    runner.events = events
    return runner
