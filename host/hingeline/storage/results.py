"""The results that a run holds, read back: what is not known of its events is skipped, and counted.

A run may be edited, cut off or of another version: each event is held against its form.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Annotated, Any, NamedTuple, TypeVar

from pydantic import Field, FiniteFloat, TypeAdapter, ValidationError

from hingeline.checks.results import (
    CheckResult,
    DirectionResult,
    NeutralResult,
    Reading,
    Result,
    SidesResult,
    Skipped,
    ThrowResult,
    form_of,
    read_result,
)
from hingeline.checks.values import Text
from hingeline.measure.capture import HOLD_S
from hingeline.rig.toml_models import MOST_BYTES
from hingeline.storage.records import RUN, Happening, happenings
from hingeline.storage.session_store import LOADED, SHEET
from hingeline.units import printable
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.errors import CalibrationError

Kind = TypeVar("Kind")
MEASURED = (NeutralResult, ThrowResult, CheckResult, DirectionResult)
"""What a report is made of."""
READINGS = (NeutralResult, ThrowResult)
TAKEN = (*READINGS, DirectionResult, Skipped)
"""What a key takes back."""
_MOST_TAKEN_BACK = 100
"""A key takes back what one event made: the positions of a mode, judged again at neutral."""
_WITHOUT_RESULT = ("resumed", "key", "rest", "calibration", "datum", "wiggle", "noise", "warm-up")
"""Kinds that a report has no use for."""


@dataclass(frozen=True)
class _Loaded:
    name: Text
    payload: dict[str, Any] | None


@dataclass(frozen=True)
class DatumInUse:
    """What a report says of a datum."""

    date: Text
    table_tilt_deg: FiniteFloat | None = None


_SheetText = Annotated[str, Field(max_length=MOST_BYTES)]


@cache
def _form(of: Any) -> TypeAdapter[Any]:
    """What a part of an event is held against: made when a run is read, which a measurement need not wait for."""
    return TypeAdapter(of)


class Entry(NamedTuple):
    """A result, and how many samples of each sensor there were by then, where they were counted."""

    result: Result
    samples: Mapping[str, int]


@dataclass(eq=False)
class RunResults:
    """What the events of a run hold, so far: its results in their order, without what was taken back.

    Calibrations, datum and sheet (its text) are those in use, None where there was none. `hold_s` is how long a reading
    was held, `fixed` whether a sensor on a fixed part took the model's motion out; `skipped` counts the events that
    were skipped, by the reason.
    """

    entries: list[Entry] = field(default_factory=list)
    calibrations: dict[str, Calibration] = field(default_factory=dict)
    datum: DatumInUse | None = None
    sheet: str | None = None
    hold_s: float = HOLD_S
    fixed: bool = False
    skipped: Counter[str] = field(default_factory=Counter)

    @property
    def results(self) -> list[Result]:
        return [entry.result for entry in self.entries]

    @property
    def readings(self) -> list[Reading]:
        """Every reading at neutral and at a throw, in their order."""
        return [result for result in self.results if isinstance(result, READINGS)]

    def every(self, kind: type[Kind]) -> list[Kind]:
        """Its results of one kind, in their order."""
        return [result for result in self.results if isinstance(result, kind)]

    @property
    def measured(self) -> bool:
        """Whether anything was measured on the aircraft."""
        return any(isinstance(result, MEASURED) for result in self.results)

    def take(self, event: Happening, samples: Mapping[str, int] | None = None) -> None:
        """Take the next event, and how many samples of each sensor came before it."""
        if event.kind == RUN:
            choices = event.fields.get("choices")
            self._begin(choices if isinstance(choices, dict) else {})
        elif event.kind == "key" and event.fields.get("key") == "back":
            results = event.fields.get("results", 1)
            for _ in range(results if isinstance(results, int) and 0 < results <= _MOST_TAKEN_BACK else 1):
                self._take_back()
        else:
            self._read(event.kind, event.fields, samples or {})

    def _begin(self, choices: dict[str, Any]) -> None:
        self.fixed, hold_s = bool(choices.get("fixed")), choices.get("hold_s")
        if isinstance(hold_s, int | float) and 0 < hold_s < math.inf:
            self.hold_s = float(hold_s)

    def _take_back(self) -> None:
        """Take back the last reading or what was left out, unless it is of sensors that sat elsewhere."""
        places = [place for place, entry in enumerate(self.entries) if isinstance(entry.result, (*TAKEN, SidesResult))]
        if places and not isinstance(self.entries[places[-1]].result, SidesResult):
            del self.entries[places[-1]]

    def _read(self, kind: str, fields: dict[str, Any], samples: Mapping[str, int]) -> None:
        try:
            if kind == LOADED:
                self._load(_form(_Loaded).validate_python(fields))
            elif form := form_of(kind, fields):
                self.entries.append(Entry(read_result(form, fields), dict(samples)))
            elif kind not in _WITHOUT_RESULT:
                self.skipped[f"of a kind that this hingeline does not know, {printable(kind)!r}"] += 1
        except (ValidationError, CalibrationError):
            self.skipped[f"{kind!r} with parts missing or not as expected"] += 1

    def _load(self, loaded: _Loaded) -> None:
        if loaded.payload is None:
            return
        if loaded.name == "calibration":
            calibration = Calibration.from_dict(loaded.payload)
            self.calibrations[calibration.sensor_id] = calibration
        elif loaded.name == "datum":
            self.datum = _form(DatumInUse).validate_python(loaded.payload)
        elif loaded.name == SHEET:
            self.sheet = _form(_SheetText).validate_python(loaded.payload.get("text"))


def read_results(path: Path) -> RunResults:
    """Read the results of a run; its samples are passed over. Raises as `records.read`."""
    results = RunResults()
    for event in happenings(path):
        results.take(event)
    return results
