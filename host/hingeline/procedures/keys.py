"""The keys that a person presses while a procedure waits, live or recorded."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from queue import Empty, SimpleQueue
from typing import Literal, NamedTuple

Key = Literal["take", "next", "back", "units", "help", "quit"]
ASIDE: tuple[Key, ...] = ("units", "help", "quit")
"""Keys that change nothing that is measured."""
KEY = "key"
"""The kind of event of a key that changed what is measured: before which event of the boards it came."""
RECORDED: dict[str, Key] = {"take": "take", "next": "next", "back": "back", "confirm": "take"}
"""What a recording calls them; "confirm" is of format 1."""
_WAKE_S = 0.2
"""On Windows no Ctrl-C is heard during a wait for another thread: none lasts longer."""
KEYS_TEXT = "Space take · N next · B back · U units · ? help · Q stop"
HELP_TEXT = (
    "Hold still: a reading is taken without a key. Space takes it now, N goes on without it, B takes the last one "
    "back, U changes the unit, Q stops and keeps what was recorded."
)


class RecordedKey(NamedTuple):
    """A key of a recording, and which event of the boards it came before: the time of that event, and its number.

    Several events may have one time, so the number decides. Former files have none.
    """

    key: Key
    after_s: float
    number: int | None = None


@dataclass
class Keys:
    """The keys pressed on keyboard, page or pedal, and those of a recording.

    `pressed` are live ones that were not heeded yet; `are_heard` tells whether there is a keyboard. `number` counts the
    events of the boards, from the beginning of the run.
    """

    pressed: SimpleQueue[Key] = field(default_factory=SimpleQueue)
    are_heard: bool = False
    recorded: deque[RecordedKey] = field(default_factory=deque)
    number: int = 0

    def due(self, time_s: float) -> Iterator[tuple[Key, bool]]:
        """Keys to heed before the next event, which has this time, and whether each comes from a recording."""
        self.number += 1
        while self.recorded and self._is_due(self.recorded[0], time_s):
            yield self.recorded.popleft().key, True
        while not self.pressed.empty():
            yield self.pressed.get(), False

    def _is_due(self, recorded: RecordedKey, time_s: float) -> bool:
        return time_s >= recorded.after_s if recorded.number is None else self.number >= recorded.number

    def wait(self) -> Key:
        """Wait for the next live one."""
        while True:
            with suppress(Empty):
                return self.pressed.get(timeout=_WAKE_S)

    def aside(self) -> Iterator[Key]:
        """Keys that change nothing that is measured; the others go on waiting for a sample."""
        for _ in range(self.pressed.qsize()):
            key = self.pressed.get()
            if key in ASIDE:
                yield key
            else:
                self.pressed.put(key)
