"""What the events of a session say. The one place that knows their kinds; what it doesn't know, it skips and tells.

A session may be edited, cut off or of another version: each event is held against its form.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from hingeline.report.forms import (
    Calibrated,
    Caution,
    Closure,
    Direction,
    Flat,
    Found,
    Known,
    Reading,
    Sides,
    Text,
    Written,
)
from hingeline.storage.recording import Happening, happenings
from hingeline.storage.session_store import SHEET
from hingeline.units import printable
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError


@dataclass(frozen=True)
class _Loaded:
    what: Text
    payload: dict[str, Any] | None


_FORMS: Mapping[str, TypeAdapter[Any]] = {
    "neutral": TypeAdapter(Reading),
    "throw": TypeAdapter(Reading),
    "sweep": TypeAdapter(Found),
    "play": TypeAdapter(Found),
    "centring": TypeAdapter(Found),
    "droop": TypeAdapter(Found),
    "direction": TypeAdapter(Direction),
    "sides": TypeAdapter(Sides),
    "caution": TypeAdapter(Caution),
    "closure": TypeAdapter(Closure),
    "loaded": TypeAdapter(_Loaded),
}
_WITHOUT_RESULT = (
    "session",
    "resumed",
    "key",
    "rest",
    "calibration",
    "datum",
    "hinge",
    "wiggle",
    "noise",
    "warm-up",
)
"""Kinds that a report has no use for."""
_CALIBRATED, _FLAT, _WRITTEN = TypeAdapter(Calibrated), TypeAdapter(Flat), TypeAdapter(Written)


@dataclass
class Told:
    """What the events of a session told so far.

    Attributes
    ----------
    calibrated, calibrations
        By sensor id, what is told of the calibration in use, and that itself.
    datum
        What is told of the datum in use.
    sheet
        Text of the rigging sheet in use, None where it was not recorded.
    skipped
        How many events were skipped, by the reason.
    """

    calibrated: dict[str, Calibrated] = field(default_factory=dict)
    calibrations: dict[str, Calibration] = field(default_factory=dict)
    datum: Flat | None = None
    sheet: str | None = None
    skipped: Counter[str] = field(default_factory=Counter)

    def take(self, happening: Happening) -> Known | None:
        """Return what an event says; None where it has no result of its own."""
        kind = happening.kind if isinstance(happening.kind, str) else ""
        form = _FORMS.get(kind)
        if form is None:
            if kind not in _WITHOUT_RESULT:
                self.skipped[f"of a kind that this hingeline does not know, {printable(kind)!r}"] += 1
            return None
        try:
            said = form.validate_python(happening.fields)
            if isinstance(said, _Loaded):
                self._load(said)
                return None
        except (ValidationError, CalibrationError):
            self.skipped[f"{kind!r} with parts missing or not as expected"] += 1
            return None
        known: Known = said
        return known

    def _load(self, said: _Loaded) -> None:
        if said.payload is None:
            return
        if said.what == "calibration":
            calibrated = _CALIBRATED.validate_python(said.payload)
            self.calibrations[calibrated.sensor_id] = Calibration.from_dict(said.payload)
            self.calibrated[calibrated.sensor_id] = calibrated
        elif said.what == "datum":
            self.datum = _FLAT.validate_python(said.payload)
        elif said.what == SHEET:
            self.sheet = _WRITTEN.validate_python(said.payload).text


def said(folder: Path) -> tuple[list[Known], Told]:
    """Return what a session said, without what was taken back, and what was in use. Raises as `recording.read`."""
    told = Told()
    known: list[Known] = []
    for event in happenings(folder):
        if (place := taken_back(event, known)) is not None:
            del known[place]
        elif (one := told.take(event)) is not None:
            known.append(one)
    return known, told


def taken_back(happening: Happening, said: Sequence[Known]) -> int | None:
    """Return which of what was said an event takes back: the last reading, unless it is of another surface."""
    if happening.kind == "key" and happening.fields.get("key") == "back":
        for place in reversed(range(len(said))):
            if isinstance(said[place], Sides):
                return None
            if isinstance(said[place], Reading):
                return place
    return None
