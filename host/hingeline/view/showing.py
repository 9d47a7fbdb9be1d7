"""Shows the picture of a stage in all views, again and again, whether samples come or not."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import Protocol

from hingeline.view.picture import Picture
from hingeline.view.stage import Stage

UPDATE_S = 0.05
"""Time between two pictures: with a beat of the link and what it takes to draw one, a sample is on the screen within
0.1 s."""


class View(Protocol):
    """Anything that shows pictures."""

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
            while not self._over.wait(UPDATE_S):
                picture = self._stage.picture()
                for view in self._views:
                    view.show(picture)
        except Exception as failure:  # raised by `check`, in the measuring thread
            self.failure = failure
