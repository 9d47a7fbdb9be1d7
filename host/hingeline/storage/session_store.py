"""The store during a run: what is loaded from it is recorded, and a replay loads it from there."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from hingeline.errors import DamagedFile, NotStored
from hingeline.storage.recorder import Recorder
from hingeline.storage.records import Happening
from hingeline.storage.store import Entry, Store

LOADED = "loaded"
"""The kind of event that holds what was loaded; a payload of None tells that nothing was kept."""
SHEET = "sheet"
"""What is loaded beside what the store keeps: the rigging sheet, as its text."""


class WitnessedStore(Store):
    """A store whose every load is recorded: the calibrations, the datum and the settings that were used."""

    def __init__(self, recorder: Recorder, root: Path | None = None) -> None:
        super().__init__(root)
        self._recorder = recorder

    def find(self, kind: str, key: str, number: int | None = None) -> dict[str, Any] | None:
        """Read as `Store.find`, and record it."""
        payload = super().find(kind, key, number)
        self._recorder.event(LOADED, name=kind, key=key, payload=payload)
        return payload


class RecordedStore(Store):
    """What the run in the file `path` loaded, load by load; nothing is saved.

    Raises `DamagedFile` (an event of a load is none).
    """

    def __init__(self, path: Path, happenings: Iterable[Happening]) -> None:
        super().__init__(path)
        self._payloads: dict[tuple[str, str], deque[dict[str, Any] | None]] = defaultdict(deque)
        for event in happenings:
            match event.fields if event.kind == LOADED else None:
                case {"name": str(name), "key": str(key), "payload": dict() | None as payload}:
                    self._payloads[name, key].append(payload)
                case dict():
                    text = f"{path} records what was loaded in another form than hingeline writes"
                    raise DamagedFile(text, "Replay a session as it was recorded")

    def find(self, kind: str, key: str, number: int | None = None) -> dict[str, Any] | None:
        """What the next load of the run returned; None where it found nothing, or there was no such load."""
        payloads = self._payloads[kind, key]
        return payloads.popleft() if payloads else None

    def _nothing(self, kind: str, key: str, number: int | None) -> NotStored:
        return NotStored(f"The session {self.root} used no {kind} of {key}", "Replay it as it was recorded")

    def save(self, kind: str, key: str, payload: dict[str, Any], *, mode: int = 0o666) -> Entry:
        """Leave the store as it is."""
        return Entry(0, "", self.root)
