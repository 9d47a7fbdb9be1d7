"""The forms of what the events of a session say: every field is checked, every text made printable."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, FiniteFloat

from hingeline.checks.asked import Place
from hingeline.rig.toml_models import MOST_BYTES
from hingeline.units import Side, printable

Text = Annotated[str, AfterValidator(printable)]
Unit = Literal["deg", "mm", "ratio"]
Interval = tuple[FiniteFloat, FiniteFloat]
Numbers = tuple[FiniteFloat, ...]


@dataclass(frozen=True)
class Angle:
    """An angle, its 95 % interval, and its standard uncertainty by source."""

    deg: FiniteFloat
    standard_uncertainty_deg: FiniteFloat
    interval_95_deg: Interval
    budget_deg: dict[Text, FiniteFloat] = field(default_factory=dict)

    @property
    def reach_deg(self) -> float:
        """Half of the interval."""
        return (self.interval_95_deg[1] - self.interval_95_deg[0]) / 2


@dataclass(frozen=True)
class Travelled:
    """A travel at the chord and its 95 % interval."""

    mm: FiniteFloat
    convention: Text
    interval_95_mm: Interval

    @property
    def reach_mm(self) -> float:
        """Half of the interval."""
        return (self.interval_95_mm[1] - self.interval_95_mm[0]) / 2


@dataclass(frozen=True)
class Judged:
    """One angle beside its target: see `checks.judgement.Judgement`."""

    what: Text
    measured: Angle
    unit: Literal["deg", "mm"]
    wanted: FiniteFloat
    tolerance: FiniteFloat
    gap: FiniteFloat
    verdict: Text
    inside: bool
    close: bool = False
    travel: Travelled | None = None
    advice: Text = ""
    effect: Text = ""


@dataclass(frozen=True)
class Reading:
    """A neutral, or a throw: then with a mode, and "neutral" as command is a return to it."""

    surface: Text
    judgements: tuple[Judged, ...]
    mode: Text = ""
    command: Text = "neutral"
    cycle: int = 1

    @property
    def place(self) -> Place:
        """Where it was taken."""
        return Place(self.surface, self.mode, self.command)

    @property
    def position(self) -> str:
        """Words for it."""
        if not self.mode:
            return "neutral"
        return (
            f"back at neutral · {self.mode}" if self.command == "neutral" else f"{self.command} · {self.mode}"
        )


@dataclass(frozen=True)
class Finding:
    """A fault that was looked for: see `checks.finding.Finding`."""

    what: Text
    value: FiniteFloat
    unit: Unit
    standard_uncertainty: FiniteFloat
    interval_95: Interval
    limit: FiniteFloat
    inside: bool
    expected: FiniteFloat = 0.0
    close: bool = False
    candidates: tuple[Text, ...] = ()

    @property
    def reach(self) -> float:
        """Half of the interval."""
        return (self.interval_95[1] - self.interval_95[0]) / 2


@dataclass(frozen=True)
class Step:
    """Left minus right at one place of a sweep."""

    position_deg: FiniteFloat
    way: Literal["rising", "falling"]
    left_minus_right_deg: FiniteFloat
    standard_uncertainty_deg: FiniteFloat = 0.0


@dataclass(frozen=True)
class Rested:
    """Where one side came to rest, by what was done before."""

    readings_deg: dict[Text, Numbers] = field(default_factory=dict)
    from_above_deg: Numbers = ()
    from_below_deg: Numbers = ()

    @property
    def rows(self) -> dict[str, Numbers]:
        """The rests by words for what was done before, where there are any."""
        ways = {"from above": self.from_above_deg, "from below": self.from_below_deg}
        return {label: values for label, values in {**self.readings_deg, **ways}.items() if values}


@dataclass(frozen=True)
class Found:
    """What a sweep, or a look for play, centring or droop found."""

    surface: Text
    findings: tuple[Finding, ...]
    notes: tuple[Text, ...] = ()
    steps: tuple[Step, ...] = ()
    each_second_deg: dict[Side, Numbers] = field(default_factory=dict)
    left: Rested | None = None
    right: Rested | None = None
    middle: Rested | None = None

    @property
    def rested(self) -> dict[str, Rested]:
        """By side, where it came to rest."""
        sides = {"left": self.left, "right": self.right, "middle": self.middle}
        return {side: rested for side, rested in sides.items() if rested is not None and rested.rows}


@dataclass(frozen=True)
class Went:
    """Which way one side went, and should."""

    deg: FiniteFloat
    went: Text
    expected: Text
    right_way: bool


@dataclass(frozen=True)
class Direction:
    """Which way the sides of a surface went at a command."""

    surface: Text
    command: Text
    sides: dict[Side, Went]


@dataclass(frozen=True)
class Seat:
    """The sensor on one side, and the hinge in its frame."""

    sensor: Text
    hinge: tuple[FiniteFloat, FiniteFloat, FiniteFloat]


@dataclass(frozen=True)
class Sides:
    """Which sensor sits where from here on."""

    surface: Text
    sides: dict[Side, Seat]


@dataclass(frozen=True)
class Caution:
    """What a user was told before trusting a reading."""

    text: Text


@dataclass(frozen=True)
class Closure:
    """How far sensors had gone when they were laid on the flat of a datum again, and whether that datum holds."""

    misclosure_deg: dict[Text, FiniteFloat]
    date: Text = ""
    holds: bool = True


@dataclass(frozen=True)
class Calibrated:
    """What is told of a calibration in use."""

    sensor_id: Text
    chip: Text
    date: Text
    temperature_c: FiniteFloat | None
    residual_mg: FiniteFloat
    noise_mg: FiniteFloat
    tool_version: Text
    placements: tuple[tuple[Text | None, FiniteFloat | None], ...]
    poor: tuple[Text, ...] = ()


@dataclass(frozen=True)
class Flat:
    """What is told of the datum in use."""

    date: Text
    table_tilt_deg: FiniteFloat | None = None


@dataclass(frozen=True)
class Written:
    """A rigging sheet as it was read: no longer than a sheet may be."""

    text: Annotated[str, Field(max_length=MOST_BYTES)]


RESULTS = (Reading, Found, Direction)
"""What a report is made of."""
Known = Reading | Found | Direction | Sides | Caution | Closure
