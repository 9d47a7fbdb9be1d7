"""Shows the latest state in all views, again and again, whether samples come or not."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from itertools import count
from math import gcd
from time import perf_counter
from typing import Protocol

from hingeline.device.link import beat
from hingeline.procedures.state import State

AFTER_S = 0.01
"""Views are drawn so long after a beat of the link, when what came with it has been taken: drawn at every beat, a
sample is on the screen within 0.1 s."""
HURRY_BEATS = 2
"""An alarm that comes or goes waits for no more beats: with `STALE_S` it is told within 0.5 s."""


class View(Protocol):
    """Anything that shows states: one at each so many `beats`, and one at once where an alarm comes or goes."""

    beats: int

    def show(self, state: State) -> None:
        """Show a state; called in the showing thread alone."""


class Showing:
    """Shows in all views while its `with` lasts; a new state is wanted each `period_s`.

    All that passes between the measuring thread and this one is a state, which nobody changes.
    """

    def __init__(self, views: Sequence[View]) -> None:
        self._views = tuple(views)
        self._every = gcd(HURRY_BEATS, *(view.beats for view in self._views))
        self.period_s = min(view.beats for view in self._views) * beat.BEAT_S
        self._state: State | None = None
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name="showing", daemon=True)
        self._failure: Exception | None = None

    def __enter__(self) -> Showing:
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self._over.set()
        self._thread.join()
        self._check()

    def publish(self, state: State) -> None:
        """Show this state from now on. Raises what kept a view from showing: one that stands must not look alive."""
        self._check()
        self._state = state

    def _check(self) -> None:
        if self._failure is not None:
            raise self._failure

    def _run(self) -> None:
        try:
            alarms: frozenset[str] = frozenset()
            for number in count(self._every, self._every):
                if self._over.wait(beat.next_s(self._every * beat.BEAT_S, AFTER_S)):
                    return
                if self._state is None:
                    continue
                state = self._state.at(perf_counter())
                before, alarms = alarms, frozenset(sensor.sensor_id for sensor in state.alarms)
                for view in self._views:
                    if alarms != before or number % view.beats == 0:
                        view.show(state)
        except Exception as failure:  # raised by `publish`, in the measuring thread
            self._failure = failure
