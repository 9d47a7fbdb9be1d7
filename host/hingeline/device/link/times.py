"""One time scale for boards whose clocks wrap and drift, and the events of all boards in the order of their times."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from operator import itemgetter
from typing import NamedTuple

from hingeline.device.samples import BoardGone, Event, Sample, SensorFault, Tick
from hingeline_protocol.messages import TICKS_PERIOD_US

DRIFT_LIMIT = 200e-6
"""No two crystals differ by more: 100 ppm each is a poor one (common practice, no source)."""


class BoardClock:
    """Maps a board's `ticks_us` to seconds on the host's monotonic scale.

    Differences of times are the board's own to within `DRIFT_LIMIT`, without the jitter of arrivals. Lines of one beat
    have the arrival of their first, so times lie up to a beat early, those of all boards alike. The offset follows the
    median of `arrival - board time` in steps that poor clocks may drift: a late line moves it no more than one in time.

    Ticks wrap (17.9 minutes). Between lines the shorter way round is taken; a silence of half a wrap or more adds the
    whole number of wraps that the host's clock makes likely.
    """

    def __init__(self) -> None:
        self._board_us = 0
        self._arrival_us = 0.0
        self._offset_us: float | None = None

    def time_s(self, ticks_us: int, arrival_ns: int) -> float:
        """Place `ticks_us`, of a line that arrived at `arrival_ns`, on the host's time scale."""
        arrival_us = arrival_ns * 1e-3
        if self._offset_us is None:
            self._offset_us = arrival_us - ticks_us
            self._board_us, self._arrival_us = ticks_us, arrival_us
            return arrival_us * 1e-6
        step_us = (ticks_us - self._board_us) % TICKS_PERIOD_US
        if step_us > TICKS_PERIOD_US // 2:
            step_us -= TICKS_PERIOD_US
        silence_us = arrival_us - self._arrival_us
        if silence_us > TICKS_PERIOD_US // 2:
            step_us += TICKS_PERIOD_US * round((silence_us - step_us) / TICKS_PERIOD_US)
        self._board_us += step_us
        self._arrival_us = arrival_us
        lead_us = arrival_us - self._board_us - self._offset_us
        allowed_us = DRIFT_LIMIT * max(step_us, 0)
        self._offset_us += min(max(lead_us, -allowed_us), allowed_us)
        return (self._board_us + self._offset_us) * 1e-6


PATIENCE_NS = 100_000_000
"""An event waits no longer than this for an earlier one of another board."""


class Arrived(NamedTuple):
    """The events of one read, at least one, and when and where their lines arrived; a `BoardGone` is alone."""

    arrival_ns: int
    port: str
    events: Sequence[Sample | SensorFault | BoardGone]


class Mark:
    """Between arrivals: everything before it may be dropped (see `Ordered.skip`)."""


class Ordered(Iterator[Event]):
    """The events of `arrivals` in order: the same arrivals give the same events, whenever they are asked for."""

    def __init__(self, arrivals: Iterator[Arrived | Mark | Tick]) -> None:
        self._arrivals = arrivals
        self._order = InOrder()
        self._ready: deque[Event] = deque()

    def __next__(self) -> Event:
        while not self._ready:
            arrived = next(self._arrivals, None)
            if isinstance(arrived, Arrived):
                self._ready.extend(self._order.push(arrived))
            elif isinstance(arrived, Tick):
                return arrived
            elif arrived is None:
                self._ready.extend(self._order.rest())
                if not self._ready:
                    raise StopIteration
        return self._ready.popleft()

    def skip(self) -> None:
        """Drop everything before the next mark."""
        for arrived in self._arrivals:
            if isinstance(arrived, Mark):
                break
            if isinstance(arrived, Arrived) and isinstance(gone := arrived.events[-1], BoardGone):
                raise gone.error
        self._order = InOrder()
        self._ready.clear()


class InOrder:
    """Holds each event until every board has sent a later one, or `PATIENCE_NS` have passed."""

    def __init__(self) -> None:
        self._held: list[tuple[float, int, Event]] = []  # time in s, arrival in ns
        self._latest_s: dict[str, float] = {}

    def push(self, arrived: Arrived) -> list[Event]:
        """Take events, and give those whose turn it is; a `BoardGone` comes after everything that is held."""
        arrival_ns, port, events = arrived
        if isinstance(events[-1], BoardGone):
            return [*self.rest(), *events]
        self._latest_s[port] = events[-1].time_s
        self._held += [(event.time_s, arrival_ns, event) for event in events]
        self._held.sort(key=itemgetter(0))
        return self.release(arrival_ns)

    def release(self, now_ns: int) -> list[Event]:
        """Give the events whose turn it is at `now_ns`; a board lagging beyond PATIENCE_NS is no longer waited for."""
        due_s = min(self._latest_s.values(), default=float("inf"))
        released: list[Event] = []
        for time_s, arrival_ns, event in self._held:
            if time_s > due_s:
                if arrival_ns > now_ns - PATIENCE_NS:
                    break
                self._latest_s = {port: latest for port, latest in self._latest_s.items() if latest >= time_s}
                due_s = min(self._latest_s.values(), default=float("inf"))
            released.append(event)
        del self._held[: len(released)]
        return released

    def rest(self) -> list[Event]:
        """Give all that is held: no more will come."""
        self._latest_s.clear()
        return self.release(0)
