"""Runs as a process of its own: a visit to the boards at the ports named, as commands make it, for so many samples.

Arguments: samples of all sensors together, then the ports. All sensors are captured, shown in lines and recorded.
Standard output tells every so often: samples, rests and the greatest memory so far; and at the end, bad and lost lines.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass

from tests.posix import resource

from hingeline.cli.options import LiveOptions
from hingeline.cli.screen import Screen
from hingeline.cli.views import open_views
from hingeline.device.link.fleet import Fleet
from hingeline.device.samples import Event, Sample
from hingeline.procedures.opening import open_boards
from hingeline.procedures.procedure import Next, Procedure, Step, Taken

EVERY = 400


class Over(Exception):
    """All samples have come."""


class Tally:
    """Boards that count what comes of them, and what is taken."""

    def __init__(self, fleet: Fleet, wanted: int) -> None:
        self.fleet, self.wanted, self.samples, self.rests = fleet, wanted, 0, 0
        self.sensors = fleet.sensors

    def __iter__(self) -> Iterator[Event]:
        """Count the events. Raises `Over` after the last."""
        for event in self.fleet:
            yield event
            if isinstance(event, Sample):
                self.samples += 1
                if self.samples % EVERY == 0:
                    self.tell()
                if self.samples == self.wanted:
                    raise Over

    def tell(self, *more: int) -> None:
        """Print how far it is."""
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(self.samples, self.rests, memory, *more, flush=True)


@dataclass(frozen=True)
class Rests(Procedure):
    """One rest after another, without an end."""

    sensors: tuple[str, ...]
    tally: Tally

    @property
    def step(self) -> Step:
        return Step("Hold still, move, hold still.", self.sensors)

    def after(self, event: Taken) -> Next["Rests"]:
        self.tally.rests += 1
        return Next(self)


def run(samples: int, ports: list[str]) -> None:
    """Measure until all samples have come."""
    screen = Screen(as_json=True, asks=False)
    with open_boards(
        screen,
        ports,
        "Tin Plover",
        "noise",
        asks=False,
        views=lambda keys: open_views(screen, LiveOptions(plain=True), keys),
        enter=screen.enter,
        choices={},
    ) as runner:
        tally = Tally(runner.source, samples)
        runner.source = tally
        try:
            runner.run(Rests(tuple(runner.sensors), tally))
        except Over:
            counts = tally.fleet.counts.values()
    tally.tell(
        sum(one.bad + one.unknown + one.repeated + one.resets + one.faults for one in counts),
        sum(sum(one.lost.values()) for one in counts),
    )


if __name__ == "__main__":
    run(int(sys.argv[1]), sys.argv[2:])
