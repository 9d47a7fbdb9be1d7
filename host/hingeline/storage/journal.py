"""What goes on when a session can't be written any further: the measurement, which is shown all the same."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import Any

from hingeline.device.link.decoder import Line
from hingeline.errors import StoreError
from hingeline.storage.recording import Recorder


class Journal:
    """Records while it can be: the first failure is told, and what comes after it is not recorded.

    Parameters
    ----------
    recorder
        Of the session.
    failed
        Is told of the failure, in the thread that had something to record.
    """

    def __init__(self, recorder: Recorder, failed: Callable[[StoreError], None]) -> None:
        self.started = recorder.started
        self._recorder: Recorder | None = recorder
        self._failed = failed
        self._lock = threading.Lock()

    def lines(self, lines: Sequence[Line]) -> None:
        """Append received lines."""
        self._write(lambda recorder: recorder.lines(lines))

    def event(self, kind: str, **fields: Any) -> None:
        """Append an event, see `Recorder.event`."""
        self._write(lambda recorder: recorder.event(kind, **fields))

    def _write(self, record: Callable[[Recorder], None]) -> None:
        if (recorder := self._recorder) is None:
            return
        try:
            record(recorder)
        except StoreError as problem:
            with self._lock:
                first = self._recorder is not None
                self._recorder = None
            if first:
                self._failed(problem)
