"""What the procedures share that look at a surface from its neutral."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, ClassVar, TypeVar

from pydantic import TypeAdapter, ValidationError

from hingeline.checks.judgement import Moment, Passing, passing
from hingeline.checks.results import CheckResult
from hingeline.errors import HingelineError, UsageProblem
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument, on_surface, sensors_of
from hingeline.procedures.procedure import Next, Procedure, Step, Taken
from hingeline.rig.quantities import Measure, Tolerance
from hingeline.rig.sheet import Sheet

S = TypeVar("S", bound="SurfaceProcedure")
E = TypeVar("E", bound="Examination")


@dataclass(frozen=True)
class SurfaceProcedure(Procedure):
    """A procedure on one surface; its neutral comes first, and every moment is shown from there.

    A subclass says what is asked and taken after that: `next_step` and `measure`.
    """

    sheet: Sheet
    surface: str
    instruments: tuple[Instrument, ...]
    neutral: NeutralReading | None = None
    ask_neutral: ClassVar[str] = "sticks centred, hands off."

    @property
    def sides(self) -> tuple[Instrument, ...]:
        """The instruments of the sides that are measured now."""
        return self.instruments

    @property
    def place(self) -> str:
        """What every ask begins with."""
        return self.surface

    @property
    def step(self) -> Step | None:
        """Neutral first, then what a subclass asks."""
        return self.wait(self.ask_neutral) if self.neutral is None else self.next_step(self.neutral)

    @abstractmethod
    def next_step(self, neutral: NeutralReading) -> Step | None:
        """What follows neutral; None at the end."""

    def wait(self, ask: str, part: str = "", **how: Any) -> Step:
        """Ask for something, of a part of the procedure, and wait for the sensors of the sides; `how` is of `Step`."""
        place = f"{self.place}, {part}" if part else self.place
        return Step(f"{place}: {ask}", sensors_of(self.sides), settles=on_surface(self.sides), **how)

    def after(self: S, event: Taken) -> Next[S]:
        """Take the neutral, then what is measured from there."""
        return self.at_neutral(event) if self.neutral is None else self.measure(event, self.neutral)

    def at_neutral(self: S, event: Taken) -> Next[S]:
        """Take the neutral. Raises as `NeutralReading`."""
        return Next(replace(self, neutral=NeutralReading(self.sides, event.readings)), taken="neutral")

    @abstractmethod
    def measure(self: S, event: Taken, neutral: NeutralReading) -> Next[S]:
        """Take an event after neutral. Raises as `Procedure.after`."""

    def judge(self, readings: Readings) -> Iterable[Moment | Passing]:
        """Where each side is, from neutral."""
        return () if self.neutral is None else passing(self.sheet, self.surface, self.neutral, readings)


@dataclass(frozen=True)
class Examination(SurfaceProcedure):
    """A procedure that looks for a fault: its result at the end, and the problem where a part was not measurable."""

    result: CheckResult | None = None
    problem: HingelineError | None = None

    @classmethod
    def begin(
        cls: type[E], sheet: Sheet, surface: str, instruments: tuple[Instrument, ...], choices: Mapping[str, Any]
    ) -> E:
        """Begin as a command was told: a choice belongs to the field of its name. Raises `UsageProblem` of a limit."""
        own = {each.name for each in fields(cls)} - {each.name for each in fields(Examination)}
        given = {name: choices[name] for name in own & choices.keys()}
        if "limit" in own:
            given["limit"] = read_limit(choices["limit"])
        if "limit_deg" in own:
            given["limit_deg"] = read_limit_deg(choices["limit"])
        return cls(sheet, surface, instruments, **given)

    @property
    def step(self) -> Step | None:
        """Nothing more once there is a result."""
        return super().step if self.result is None else None


def read_limit(text: str | None) -> Measure | None:
    """The limit that was given. Raises `UsageProblem` where it is no tolerance."""
    if text is None:
        return None
    try:
        measure: Measure = TypeAdapter(Tolerance).validate_python(text)
    except ValidationError as problem:
        (wrong,) = problem.errors()
        raise UsageProblem(f"--limit {text!r}: expected {wrong['msg']}", "Write it as `0.5 deg`") from problem
    return measure


def read_limit_deg(text: str | None) -> float | None:
    """The limit in degrees that was given. Raises `UsageProblem` where it is no tolerance, or one in mm."""
    limit = read_limit(text)
    if limit is not None and limit.linear:
        raise UsageProblem(f"--limit {text!r}: expected degrees", "Write it as `0.5 deg`")
    return None if limit is None else limit.value
