"""What the procedures share that look at a surface from its neutral."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

from pydantic import TypeAdapter, ValidationError

from hingeline.checks.moment import Passing, passing
from hingeline.checks.results import CheckResult
from hingeline.errors import HingelineError, UsageProblem
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument, sensors_of
from hingeline.procedures.procedure import Next, Procedure, Taken
from hingeline.rig.quantities import Measure, Tolerance
from hingeline.rig.sheet import Sheet

S = TypeVar("S", bound="SurfaceProcedure")


@dataclass(frozen=True)
class SurfaceProcedure(Procedure):
    """A procedure on one surface; its neutral comes first, and every moment is shown from there.

    Attributes
    ----------
    sheet, surface, instruments
        What is measured, and with what.
    neutral
        The readings at neutral; None before they are taken.
    """

    sheet: Sheet
    surface: str
    instruments: tuple[Instrument, ...]
    neutral: NeutralReading | None = None

    @property
    def sensors(self) -> tuple[str, ...]:
        """Ids of all sensors that the measurement needs."""
        return sensors_of(self.instruments)

    def at_neutral(self: S, event: Taken) -> Next[S]:
        """Take the neutral of the instruments that are read now. Raises as `NeutralReading`."""
        return Next(replace(self, neutral=NeutralReading(self._read_now, event.readings)), taken="neutral")

    @property
    def _read_now(self) -> tuple[Instrument, ...]:
        return self.instruments

    def judge(self, readings: Readings) -> Iterable[Passing]:
        """Where each side is, from neutral."""
        return () if self.neutral is None else passing(self.sheet, self.surface, self.neutral, readings)


@dataclass(frozen=True)
class Examination(SurfaceProcedure):
    """A procedure that looks for a fault.

    Attributes
    ----------
    problem
        Why a part of it could not be measured.
    """

    problem: HingelineError | None = None

    @property
    @abstractmethod
    def result(self) -> CheckResult:
        """What it comes to, at the end. Raises `NotMeasurable`, `HingeVertical`."""


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
