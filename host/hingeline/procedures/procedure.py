"""A procedure: what to ask and what to wait for now, and which procedure an event makes of it.

Procedures are frozen and pure: no ports, threads, clocks, files or printing. The runner feeds them, from live boards,
from a recording or from a test's list, and keeps the former ones: taking a reading back is the former procedure.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, Generic, NamedTuple, TypeVar

from hingeline.checks.moment import Moment, Passing
from hingeline.checks.results import Result
from hingeline.device.samples import Sample
from hingeline.measure.capture import HOLD_S, PATIENCE_S, Readings
from hingeline.measure.tracks import Tracks


class Message(NamedTuple):
    """Something to say.

    Attributes
    ----------
    text, brief
        The same for a reader and, where there is little room, for a glance.
    is_data
        Whether it is a result, for standard output.
    or_key
        Whether a key helps too; the runner knows whether one can be pressed.
    """

    text: str
    brief: str = ""
    is_data: bool = False
    or_key: bool = False


@dataclass(frozen=True)
class Step:
    """What a procedure asks, and waits for: stillness, or that time passes, or a key.

    Attributes
    ----------
    ask
        What the person does now.
    sensors
        Ids of those that have to be still, all at once.
    hold_s
        How long a reading must last.
    all_moved
        Whether every sensor has to have moved since the last reading, or any of them.
    patience_s
        How long a person may take.
    standing_s
        After so long, a reading in which nothing has moved counts too.
    lasts_s
        So much time is let pass instead; nobody need be still.
    is_pause
        Wait for a key instead, where the person may be asked; nothing is measured before.
    is_aloud
        Whether `ask` is said, or only shown.
    can_stand
        Whether a reading taken back can be taken again where the surface stands, at a key.
    restless
        Said once where the sensors have moved on and on.
    while_still
        Shown on a line that passes, while nothing moves.
    go_on
        The command that goes on after this procedure has ended early.
    """

    ask: str
    sensors: tuple[str, ...]
    hold_s: float = HOLD_S
    all_moved: bool = False
    patience_s: float = PATIENCE_S
    standing_s: float | None = None
    lasts_s: float | None = None
    is_pause: bool = False
    is_aloud: bool = True
    can_stand: bool = True
    restless: str = ""
    while_still: str = "still"
    go_on: str = ""


class Event(NamedTuple):
    """Something that happened, and is recorded, though it is no result."""

    kind: str
    fields: Mapping[str, Any]


class Taken(NamedTuple):
    """What a step waited for.

    Attributes
    ----------
    readings
        By sensor id; none where time passed, or a key was pressed.
    tracks
        By sensor id, its samples since the last event.
    moved
        Whether any sensor had moved since the last reading.
    confirmed
        Whether a key had it taken.
    moved_s
        By sensor id, how long it moved at most since the last event.
    """

    readings: Readings
    tracks: Mapping[str, tuple[Sample, ...]] = {}
    moved: bool = True
    confirmed: bool = False
    moved_s: Mapping[str, float] = {}


P = TypeVar("P", bound="Procedure")


@dataclass(frozen=True)
class Next(Generic[P]):
    """Which procedure follows, and the news.

    Attributes
    ----------
    procedure
        What goes on.
    taken
        What the reading that was taken is called: it can be taken back. Empty where none was.
    messages
        To be said, in their order.
    results
        To be recorded.
    """

    procedure: P
    taken: str = ""
    messages: tuple[Message, ...] = ()
    results: tuple[Result | Event, ...] = ()


@dataclass(frozen=True)
class Procedure(ABC):
    """What a person does in order, as far as it has come."""

    @property
    @abstractmethod
    def step(self) -> Step | None:
        """What is asked and waited for now; None at the end."""

    @abstractmethod
    def after(self: P, event: Taken) -> Next[P]:
        """Which procedure an event makes of this one.

        Raises
        ------
        HingelineError, CalibrationError
            It can't go on.
        """

    def skipped(self: P) -> Next[P] | None:
        """Which procedure it becomes when the person goes on without a reading; None where that can't be."""
        return None

    def judge(self, readings: Readings) -> Iterable[Moment | Passing]:
        """Where each side is at this moment, beside where it belongs; nothing where no number is due.

        Raises
        ------
        HingelineError, CalibrationError
            There is no such number.
        """
        return ()


@dataclass(frozen=True)
class Pause(Procedure):
    """Waits for a key, where the person may be asked."""

    ask: str
    is_over: bool = False

    @property
    def step(self) -> Step | None:
        """The key."""
        return None if self.is_over else Step(self.ask, (), is_pause=True)

    def after(self, event: Taken) -> Next[Pause]:
        """Go on."""
        return Next(replace(self, is_over=True))


def joined(*parts: Tracks) -> Tracks:
    """Tracks one after the other."""
    sensors = dict.fromkeys(chain.from_iterable(parts))
    return {name: tuple(chain.from_iterable(part.get(name, ()) for part in parts)) for name in sensors}
