"""The events of several boards, each in its own order, in the order of their times."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Iterator
from itertools import count
from typing import NamedTuple

from hingeline.samples import BoardGone, Event

PATIENCE_NS = 100_000_000
"""An event waits no longer than this for an earlier one of another board."""


class Arrived(NamedTuple):
    """An event, and where and when the line that told it arrived."""

    arrival_ns: int
    port: str
    event: Event


class Mark:
    """Between arrivals: what arrived before is of no use any more (see `Ordered.skip`)."""


class Ordered(Iterator[Event]):
    """The events of `arrivals` in order: the same arrivals give the same events, whenever they are asked for."""

    def __init__(self, arrivals: Iterator[Arrived | Mark]) -> None:
        self._arrivals = arrivals
        self._order = InOrder()
        self._ready: deque[Event] = deque()

    def __next__(self) -> Event:
        while not self._ready:
            arrived = next(self._arrivals, None)
            if isinstance(arrived, Arrived):
                self._ready.extend(self._order.push(arrived))
            elif arrived is None:
                self._ready.extend(self._order.rest())
                if not self._ready:
                    raise StopIteration
        return self._ready.popleft()

    def skip(self) -> None:
        """Drop what comes before the next mark."""
        for arrived in self._arrivals:
            if isinstance(arrived, Mark):
                break
            if isinstance(arrived.event, BoardGone):
                raise arrived.event.error
        self._order = InOrder()
        self._ready.clear()


class InOrder:
    """Holds each event until every board has spoken of a later time, or `PATIENCE_NS` have passed."""

    def __init__(self) -> None:
        self._held: list[tuple[float, int, Arrived]] = []
        self._latest_s: dict[str, float] = {}
        self._tie = count()

    def push(self, arrived: Arrived) -> list[Event]:
        """Take an event and return those whose turn it is; after all that is held, a `BoardGone`."""
        if isinstance(arrived.event, BoardGone):
            return [*self.rest(), arrived.event]
        time_s = arrived.event.time_s
        self._latest_s[arrived.port] = time_s
        heapq.heappush(self._held, (time_s, next(self._tie), arrived))
        return self.release(arrived.arrival_ns)

    def release(self, now_ns: int) -> list[Event]:
        """Return the events whose turn it is at `now_ns`; who keeps them waiting is waited for no more."""
        released: list[Event] = []
        due_s = min(self._latest_s.values(), default=float("inf"))
        while self._held:
            time_s, _, arrived = self._held[0]
            if time_s > due_s:
                if arrived.arrival_ns > now_ns - PATIENCE_NS:
                    break
                self._latest_s = {port: latest for port, latest in self._latest_s.items() if latest >= time_s}
                due_s = min(self._latest_s.values(), default=float("inf"))
            released.append(heapq.heappop(self._held)[2].event)
        return released

    def rest(self) -> list[Event]:
        """Return all that is held: no more will come."""
        self._latest_s.clear()
        return self.release(0)
