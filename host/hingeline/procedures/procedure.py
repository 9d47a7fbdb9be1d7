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

from hingeline.checks.judgement import Moment, Passing
from hingeline.checks.results import Result
from hingeline.device.samples import Sample
from hingeline.measure.capture import HOLD_S, PATIENCE_S, Readings
from hingeline.measure.tracks import Tracks


class Message(NamedTuple):
    """Something to say: `text` for a reader, `brief` the same for a glance, where there is little room."""

    text: str
    brief: str = ""
    is_data: bool = False  # a result, for standard output
    or_key: bool = False  # a key helps too; the runner knows whether one can be pressed


@dataclass(frozen=True)
class Step:
    """What a procedure asks, and waits for: stillness, or that time passes, or a key."""

    ask: str  # what the person does now
    sensors: tuple[str, ...]  # ids of those that have to be still, all at once
    hold_s: float = HOLD_S  # how long a reading must last
    all_moved: bool = False  # every sensor has to have moved since the last reading, not any of them
    settles: tuple[str, ...] = ()  # ids of those on a surface, which may creep: the ± holds what is left to go
    patience_s: float = PATIENCE_S  # how long a person may take
    standing_s: float | None = None  # after so long, a reading in which nothing has moved counts too
    is_tracked: bool = False  # the samples since the last event are kept: whoever waits long needs memory for them
    lasts_s: float | None = None  # so much time is let pass instead; nobody need be still
    is_pause: bool = False  # wait for a key instead, where the person may be asked; nothing is measured before
    is_aloud: bool = True  # `ask` is said, not only shown
    can_stand: bool = True  # a reading taken back can be taken again where the surface stands, at a key
    restless: str = ""  # said once where the sensors have moved on and on
    while_still: str = "still"  # shown on a line that passes, while nothing moves
    go_on: str = ""  # the command that goes on after this procedure has ended early


class Event(NamedTuple):
    """Something that happened, and is recorded, though it is no result."""

    kind: str
    fields: Mapping[str, Any]


class Taken(NamedTuple):
    """What a step waited for; all by sensor id."""

    readings: Readings  # none where time passed, or a key was pressed
    tracks: Mapping[str, tuple[Sample, ...]] = {}  # the samples since the last event, of a step that is tracked
    moved: bool = True  # any sensor had moved since the last reading
    confirmed: bool = False  # a key had it taken
    moved_s: Mapping[str, float] = {}  # how long each moved at most since the last event
    lost: frozenset[str] = frozenset()  # those that stopped answering for a while


P = TypeVar("P", bound="Procedure")


@dataclass(frozen=True)
class Next(Generic[P]):
    """Which procedure follows, what is to be said and what to be recorded, in their order.

    `taken` is what the reading that was taken is called, which can be taken back; empty where none was.
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
        """Which procedure an event makes of this one. Raises `HingelineError`, `CalibrationError`: it can't go on."""

    def skipped(self: P) -> Next[P] | None:
        """Which procedure it becomes when the person goes on without a reading; None where that can't be."""
        return None

    def judge(self, readings: Readings) -> Iterable[Moment | Passing]:
        """Where each side is at this moment, beside where it belongs; nothing where no number is due.

        Raises `HingelineError`, `CalibrationError`: there is no such number.
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
