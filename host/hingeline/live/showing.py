"""Shows the picture of a stage in all views, again and again, whether samples come or not."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from itertools import count
from math import gcd
from typing import Protocol

from hingeline.device.link import beat
from hingeline.live.picture import Picture
from hingeline.live.stage import Stage

AFTER_S = 0.01
"""A picture is made so long after a beat of the link, when what came with it has been taken: shown at every beat, a
sample is on the screen within 0.1 s."""
HURRY_BEATS = 2
"""An alarm that comes or goes waits for no more beats: with `STALE_S` it is told within 0.5 s."""


class View(Protocol):
    """Anything that shows pictures.

    Attributes
    ----------
    beats
        It shows one at each so many beats, and one at once where an alarm comes or goes.
    """

    beats: int

    def show(self, picture: Picture) -> None:
        """Show a picture; called in the showing thread alone."""


class Showing:
    """Shows while its `with` lasts.

    Parameters
    ----------
    stage
        Makes the pictures.
    views
        Where they go.

    Attributes
    ----------
    failure
        What kept a view from showing.
    """

    def __init__(self, stage: Stage, views: Sequence[View]) -> None:
        self._stage, self._views = stage, tuple(views)
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, name="showing", daemon=True)
        self.failure: Exception | None = None

    def __enter__(self) -> Showing:
        self._thread.start()
        return self

    def __exit__(self, *exception: object) -> None:
        self._over.set()
        self._thread.join()
        self.check()

    def check(self) -> None:
        """Raise what kept a view from showing: a screen that stands still must not look alive."""
        if self.failure is not None:
            raise self.failure

    def _run(self) -> None:
        try:
            every = gcd(HURRY_BEATS, *(view.beats for view in self._views))
            alarms: frozenset[str] = frozenset()
            for number in count(every, every):
                if self._over.wait(beat.next_s(every * beat.BEAT_S, AFTER_S)):
                    return
                before, alarms = alarms, self._stage.alarms()
                views = [view for view in self._views if alarms != before or number % view.beats == 0]
                if views:
                    picture = self._stage.picture()
                    for view in views:
                        view.show(picture)
        except Exception as failure:  # raised by `check`, in the measuring thread
            self.failure = failure
