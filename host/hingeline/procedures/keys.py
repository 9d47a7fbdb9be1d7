"""The keys that a person presses while a procedure waits, live or recorded."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import Literal

Key = Literal["take", "next", "back", "units", "help", "quit"]
KEY = "key"
"""The kind of event of a key that changed what is measured: with `after_s`, the time of the event it came after."""
RECORDED: dict[str, Key] = {"take": "take", "next": "next", "back": "back", "confirm": "take"}
"""What a recording calls them; "confirm" is of format 1."""
KEYS_TEXT = "Space take · N next · B back · U units · ? help · Q stop"
HELP_TEXT = (
    "Hold still: a reading is taken without a key. Space takes it now, N goes on without it, B takes the last one "
    "back, U changes the unit, Q stops and keeps what was recorded."
)


@dataclass
class Keys:
    """The keys pressed on keyboard, page or pedal, and those of a recording.

    Attributes
    ----------
    pressed
        Live ones, that were not heeded yet.
    are_heard
        Whether a keyboard is heard.
    recorded
        Of a replay: after the event of which time, and which key.
    """

    pressed: SimpleQueue[Key] = field(default_factory=SimpleQueue)
    are_heard: bool = False
    recorded: deque[tuple[float, Key]] = field(default_factory=deque)

    def due(self, time_s: float) -> Iterator[tuple[Key, bool]]:
        """Keys to heed at the event of a time, and whether each comes from a recording."""
        while self.recorded and self.recorded[0][0] <= time_s:
            yield self.recorded.popleft()[1], True
        while not self.pressed.empty():
            yield self.pressed.get(), False

    def aside(self) -> Iterator[Key]:
        """Keys that change nothing that is measured; the others go on waiting for a sample."""
        for _ in range(self.pressed.qsize()):
            key = self.pressed.get()
            if key in ("units", "help", "quit"):
                yield key
            else:
                self.pressed.put(key)
