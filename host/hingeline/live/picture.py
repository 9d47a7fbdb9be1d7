"""What is to be shown at one moment: plain, frozen, the same for every view.

Each view says all of it in its own way: a screen in large digits, lines for a pipe or a screen reader, a tone, a page.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from hingeline.advice.verdict import Word
from hingeline.units import MM_PER_INCH, UNITS, Unit, signed

UNIT_ORDER: tuple[Unit, ...] = ("deg", "mm", "in")

Condition = Literal["live", "moving", "frozen", "lost", "waiting"]
ALARMING: tuple[Condition, ...] = ("frozen", "lost")
STALE_S = 0.3
"""A value older than this is not shown as live."""


@dataclass(frozen=True)
class Size:
    """A signed angle, and what it is at the chord where there is one."""

    deg: float
    mm: float | None = None

    def value(self, unit: Unit) -> float:
        """Return the number in a unit, of `unit_of` it."""
        if self.mm is None or unit == "deg":
            return self.deg
        return self.mm / MM_PER_INCH if unit == "in" else self.mm

    def unit_of(self, unit: Unit) -> Unit:
        """Return the unit it can be told in: degrees without a chord."""
        return "deg" if self.mm is None else unit

    def number(self, unit: Unit) -> str:
        """Return the number with its sign, rounded as it can be read from afar."""
        value, of = self.value(unit), self.unit_of(unit)
        if of == "in" and abs(value) < 0.9995:
            return signed(value, 3).replace("0.", ".", 1)
        return signed(value, 2 if abs(value) < 9.995 else 1 if abs(value) < 99.95 else 0)

    def text(self, unit: Unit) -> str:
        """Return number and unit."""
        return f"{self.number(unit)}{UNITS[self.unit_of(unit)]}"


@dataclass(frozen=True)
class Gap:
    """How far one side is from where it is wanted, now.

    Attributes
    ----------
    what
        "left", "right" or "middle".
    word
        The verdict, in the unit of the rigging sheet.
    to_go
        What is still to be added; negative where there is too much.
    now, wanted
        Where it is and where it belongs, trailing edge up positive; of a match, of this side against the other.
    reach
        Half the width of the 95 % interval of `now`.
    tolerances
        The size of the gap in tolerances: within up to 1.
    """

    what: str
    word: Word
    to_go: Size
    now: Size
    wanted: Size
    reach: Size
    tolerances: float


@dataclass(frozen=True)
class Place:
    """Where one side is now, where nothing is wanted of it.

    Attributes
    ----------
    what
        "left", "right" or "middle".
    now
        From neutral, trailing edge up positive.
    reach
        Half the width of the 95 % interval of `now`.
    """

    what: str
    now: Size
    reach: Size


@dataclass(frozen=True)
class SensorState:
    """What a sensor does.

    Attributes
    ----------
    side, sensor_id
        Where it sits, its id again where it has no seat; and which it is.
    condition
        "live": still; "moving"; "frozen": it repeats one reading; "lost": it doesn't answer, or has not been heard
        for `STALE_S`; "waiting": nobody listens just now.
    age_s
        How long ago it was heard.
    temperature_c
        Of its chip, None where it gives none.
    """

    side: str
    sensor_id: str
    condition: Condition
    age_s: float
    temperature_c: float | None

    @property
    def text(self) -> str:
        """Its state in words."""
        age = f" for {self.age_s:.1f} s" if self.condition == "lost" else ""
        warmth = "" if self.temperature_c is None else f", {self.temperature_c:.1f} °C"
        return f"{self.name} {self.condition}{age}{warmth}"

    @property
    def name(self) -> str:
        """What it is called."""
        return f"sensor {self.sensor_id}" if self.side == self.sensor_id else f"{self.side} sensor"


@dataclass(frozen=True)
class Picture:
    """All that is shown at one moment.

    Attributes
    ----------
    asked
        What the person is asked to do next.
    gaps, places
        Of the sides of which something is wanted, and of those of which nothing is; while a sensor is not live,
        there are none.
    sensors
        All of the measurement.
    unit
        What lengths and angles are told in.
    captured
        How many rests were taken so far, and of those how many taken back.
    taken_back
    told
        The last texts said, the latest last; one may have several lines.
    problem
        Why there is no number; empty where there is one, or none is due.
    """

    asked: str
    gaps: tuple[Gap, ...]
    sensors: tuple[SensorState, ...]
    unit: Unit = "deg"
    places: tuple[Place, ...] = ()
    captured: int = 0
    taken_back: int = 0
    told: tuple[str, ...] = ()
    problem: str = ""

    @property
    def sides(self) -> tuple[Gap | Place, ...]:
        """What has a number: left, middle, right."""
        return tuple(sorted((*self.gaps, *self.places), key=lambda one: one.what))

    @property
    def taken(self) -> str:
        """How many rests were taken, in words."""
        back = f", {self.taken_back} taken back" if self.taken_back else ""
        return f"{self.captured} taken{back}"

    @property
    def alarms(self) -> tuple[SensorState, ...]:
        """The sensors that do not measure."""
        return tuple(one for one in self.sensors if one.condition in ALARMING)
