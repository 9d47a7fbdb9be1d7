"""What is to be shown at one moment: plain, frozen, the same for every view.

The runner makes it, in the measuring thread. Each view says all of it in its own way: a screen in large digits, lines
for a pipe or a screen reader, a tone, a page. No view measures or judges.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import copysign
from typing import Literal

from hingeline.advice.verdict import Word
from hingeline.checks.judgement import Moment, Passing
from hingeline.units import MM_PER_INCH, UNITS, Unit, signed
from hingeline_calibration.travel import travel_mm

UNIT_ORDER: tuple[Unit, ...] = ("deg", "mm", "in")

Condition = Literal["live", "moving", "frozen", "lost", "waiting"]
ALARMING: tuple[Condition, ...] = ("frozen", "lost")
STALE_S = 0.3
"""A sensor not heard for so long is not shown as live."""


@dataclass(frozen=True)
class Size:
    """A signed angle, and what it is at the chord where there is one."""

    deg: float
    mm: float | None = None

    def times(self, factor: float) -> Size:
        """So many times it."""
        return Size(factor * self.deg, None if self.mm is None else factor * self.mm)

    def minus(self, other: Size) -> Size:
        """It without the other, which has the same chord."""
        return Size(self.deg - other.deg, None if self.mm is None or other.mm is None else self.mm - other.mm)

    def value(self, unit: Unit) -> float:
        """The number in a unit, of `unit_of` it."""
        if self.mm is None or unit == "deg":
            return self.deg
        return self.mm / MM_PER_INCH if unit == "in" else self.mm

    def unit_of(self, unit: Unit) -> Unit:
        """The unit it can be told in: degrees without a chord."""
        return "deg" if self.mm is None else unit

    def number(self, unit: Unit, reach: Size | None = None) -> str:
        """The number with its sign, as it can be read from afar: in tenths where it is known to ±0.05 at best."""
        value, of = self.value(unit), self.unit_of(unit)
        decimals = 3 if of == "in" else 2 if abs(value) < 9.995 else 1 if abs(value) < 99.95 else 0
        coarse = reach is not None and reach.value(of) > (0.05 / MM_PER_INCH if of == "in" else 0.05)
        if of == "in":
            text = signed(value, decimals - (coarse or abs(value) >= 0.9995))
            return text.replace("0.", ".", 1) if abs(value) < 0.9995 else text
        return signed(value, min(decimals, 1) if coarse else decimals)

    def unsigned(self, unit: Unit, reach: Size | None = None) -> str:
        """The number where a word beside it tells the direction."""
        return self.number(unit, reach)[1:]

    def text(self, unit: Unit, reach: Size | None = None) -> str:
        """Number and unit."""
        return f"{self.number(unit, reach)}{UNITS[self.unit_of(unit)]}"


@dataclass(frozen=True)
class Place:
    """Where a side ("left", "right" or "middle") is now, from neutral, trailing edge up positive.

    `reach` is half the width of the 95 % interval of `now`.
    """

    side: str
    now: Size
    reach: Size


@dataclass(frozen=True)
class Gap(Place):
    """How far one side is from where it is wanted, now; of a match, `now` is of this side against the other.

    `word` is the verdict, in the unit of the rigging sheet. `to_go` is what is still wanted, negative where there is
    too much. `tolerances` is the size of the gap in tolerances: within the tolerance up to 1.
    """

    word: Word
    to_go: Size
    wanted: Size
    tolerances: float

    @property
    def inside(self) -> bool:
        """Whether the gap is within the tolerance."""
        return self.tolerances <= 1


@dataclass(frozen=True)
class SensorState:
    """What a sensor does.

    `side` is where it sits, its id again where it has no side. It is "live" while still; "moving"; "frozen": it repeats
    one reading; "lost": it does not answer, or was not heard for `STALE_S`; "waiting": nobody listens just now. It was
    heard last at `heard_s` of the host's monotonic clock, `age_s` ago. Some chips give no temperature.
    """

    side: str
    sensor_id: str
    condition: Condition
    heard_s: float = 0.0
    temperature_c: float | None = None
    age_s: float = 0.0

    def at(self, now_s: float) -> SensorState:
        """Its state at a time: lost, once it was not heard for `STALE_S`."""
        if self.condition == "waiting":
            return self
        age_s = now_s - self.heard_s
        return replace(self, age_s=age_s, condition="lost" if age_s > STALE_S else self.condition)

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
class State:
    """All that is shown at one moment.

    `ask` is what the person is asked to do next. `sides` are left, middle, right: of those of which something is wanted
    the gap, of the others where they are; none while a sensor is not live. `unit` is of lengths and angles. Of the
    readings that were `taken` so far, so many were `taken_back`. `messages` are the last ones, the latest last; each
    may have several lines. `problem` tells why there is no number; it is empty where there is one, or none is due.
    """

    ask: str
    sides: tuple[Gap | Place, ...] = ()
    sensors: tuple[SensorState, ...] = ()
    unit: Unit = "deg"
    taken: int = 0
    taken_back: int = 0
    messages: tuple[str, ...] = ()
    problem: str = ""

    def at(self, now_s: float) -> State:
        """The state as it is at a time: what was not heard of late is lost, and then there are no numbers."""
        sensors = tuple(sensor.at(now_s) for sensor in self.sensors)
        known = all(sensor.condition in ("live", "moving") for sensor in sensors)
        return replace(self, sensors=sensors, sides=self.sides if known else ())

    @property
    def gaps(self) -> tuple[Gap, ...]:
        """Of the sides of which something is wanted."""
        return tuple(side for side in self.sides if isinstance(side, Gap))

    @property
    def taken_text(self) -> str:
        """How many readings were taken, in words."""
        back = f", {self.taken_back} taken back" if self.taken_back else ""
        return f"{self.taken} taken{back}"

    @property
    def alarms(self) -> tuple[SensorState, ...]:
        """The sensors that do not measure."""
        return tuple(sensor for sensor in self.sensors if sensor.condition in ALARMING)


def sides_of(moments: Iterable[Moment | Passing]) -> tuple[tuple[Place, ...], str, Unit]:
    """Left, middle, right as they are shown, why a side has no verdict, and the rigging sheet's unit."""
    sides: list[Place] = []
    problems: list[str] = []
    units = set()
    for moment in moments:
        doubt = moment.doubt if isinstance(moment, Moment) else ""
        sides.append(_gap(moment) if isinstance(moment, Moment) and not doubt else _place(moment))
        units.add(moment.verdict.unit if isinstance(moment, Moment) else "deg")
        problems += filter(None, [doubt])
    ordered = tuple(sorted(sides, key=lambda side: side.side))
    return ordered, "; ".join(problems), "mm" if units == {"mm"} else "deg"


def _gap(moment: Moment) -> Gap:
    place, wanted = _place(moment), _size(moment, moment.wanted_deg)
    way = copysign(1.0, wanted.deg) if moment.verdict.kind == "throw" else 1.0
    to_go = wanted.minus(place.now).times(way)
    tolerances = abs(moment.verdict.gap) / moment.verdict.tolerance
    return Gap(place.side, place.now, place.reach, moment.verdict.word, to_go, wanted, tolerances)


def _place(moment: Moment | Passing) -> Place:
    low, high = (_size(moment, deg) for deg in moment.now.interval_deg)
    return Place(moment.side, _size(moment, moment.now.deflection_deg), high.minus(low).times(0.5))


def _size(moment: Moment | Passing, deg: float) -> Size:
    return Size(deg, None if moment.chord_mm is None else travel_mm(deg, moment.chord_mm, moment.convention))
