"""Runs as a process of its own: a visit to the boards at the ports named, as commands make it, for so many samples.

Arguments: samples of all sensors together, then the ports. All sensors are captured, shown in lines and recorded.
Standard output tells every so often: samples, rests and the greatest memory so far; and at the end, bad and lost lines.
"""

import resource
import sys

from hingeline.cli.live import LiveOptions
from hingeline.cli.opening import visit
from hingeline.cli.screen import Screen
from hingeline.device.samples import Sample
from hingeline.measure.capture import Seen

EVERY = 400


class Over(Exception):
    """All samples have come."""


class Tally:
    """Counts what a capture sees and takes."""

    def __init__(self, wanted: int) -> None:
        self.wanted, self.samples, self.rests = wanted, 0, 0

    def __call__(self, seen: Seen) -> None:
        """Take one event. Raises `Over` after the last."""
        self.samples += isinstance(seen.event, Sample)
        if self.samples % EVERY == 0:
            self.tell()
        if self.samples == self.wanted:
            raise Over

    def tell(self, *more: int) -> None:
        """Print how far it is."""
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(self.samples, self.rests, memory, *more, flush=True)


def run(samples: int, ports: list[str]) -> None:
    """Measure until all samples have come."""
    tally = Tally(samples)
    screen = Screen(as_json=True, asks=False)
    with visit(screen, ports, "Tin Plover", "noise", live=LiveOptions(plain=True)) as here:
        capture = here.capture(tuple(here.sensors), tally)
        try:
            while True:
                capture.rest()
                tally.rests += 1
        except Over:
            counts = here.source.counts.values()
    tally.tell(
        sum(one.bad + one.unknown + one.repeated + one.resets + one.faults for one in counts),
        sum(sum(one.lost.values()) for one in counts),
    )


if __name__ == "__main__":
    run(int(sys.argv[1]), sys.argv[2:])
