"""Which sensor somebody wiggles: the one that moves alone, or turns far more than others that shake with it."""

from __future__ import annotations

from collections.abc import Callable

from hingeline.device.samples import Sample
from hingeline.measure.capture import Capture, Readings, Seen
from hingeline_calibration.arrays import angle_between_deg

TIMES = 3.0
"""The one wiggled turns at least so many times as far as any other that moves: common practice, no source."""
RETURNED_DEG = 1.0
"""What was wiggled and let go comes back as near as this, its play included: common practice, no source."""


class Wiggles:
    """Watches sensors between rests; made when all of them rest.

    Parameters
    ----------
    capture
        Returns the capture of the sensors' rests, which tells the given function everything.

    Raises
    ------
    HingelineError
        See `Capture.rest`.

    Attributes
    ----------
    strayed_deg
        How far from where it was before the last wiggle a sensor came to rest, at most.
    """

    strayed_deg = 0.0

    def __init__(self, capture: Callable[[Callable[[Seen], None]], Capture]) -> None:
        self._turned_deg: dict[str, float] = {}
        self._rests: Readings = {}
        self._capture = capture(self._watch)
        self._rests = self._capture.rest()

    def next(self) -> str | None:
        """Return the sensor wiggled before all rest again, None if several were. Raises as the class."""
        before, self._turned_deg = self._rests, dict.fromkeys(self._rests, 0.0)
        self._rests = self._capture.rest()
        self.strayed_deg = max(
            angle_between_deg(before[name].mean_counts, self._rests[name].mean_counts) for name in before
        )
        moved = [name for name in before if before[name].start_s != self._rests[name].start_s]
        most, *others = sorted(moved, key=lambda name: -self._turned_deg[name])
        alone = all(self._turned_deg[most] > TIMES * self._turned_deg[name] for name in others)
        return most if alone else None

    def _watch(self, seen: Seen) -> None:
        event = seen.event
        if isinstance(event, Sample) and event.sensor_id in self._turned_deg:
            turned_deg = angle_between_deg(self._rests[event.sensor_id].mean_counts, event.counts)
            self._turned_deg[event.sensor_id] = max(self._turned_deg[event.sensor_id], turned_deg)
