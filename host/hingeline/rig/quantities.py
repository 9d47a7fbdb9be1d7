"""Figures as a manual writes them, each with its unit: `13 mm`, `15 deg`, `1 1/2 in`, `40 %`, `3 mm down`."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

Unit = Literal["deg", "mm", "in", "%"]

MM_PER_INCH = 25.4
"""Exact: the international inch of 1959."""

_UNITS: dict[str, Unit] = {"deg": "deg", "°": "deg", "mm": "mm", "in": "in", "%": "%"}
_SHOWN = {"deg": "°", "mm": " mm", "in": " in", "%": " %"}
_MM = {"mm": 1.0, "in": MM_PER_INCH}
_SIGNS = {"up": 1, "left": 1, "down": -1, "right": -1}
_NUMBER = r"(?P<number>\d{1,5}(?:\.\d{1,6})?|(?:\d{1,3}[ -])?\d{1,2}/[1-9]\d?)"
_QUANTITY = re.compile(
    rf"(?P<sign>[+-]?){_NUMBER}\s*(?P<unit>{'|'.join(_UNITS)})(?:\s+(?P<direction>{'|'.join(_SIGNS)}))?",
    re.ASCII,
)
_SPELLED: dict[str, Unit] = {
    "degrees": "deg",
    "degree": "deg",
    "inches": "in",
    "inch": "in",
    '"': "in",
    **_UNITS,
}
_MISWRITTEN = re.compile(
    rf"(?P<sign>[+-]?)\s*{_NUMBER}\s*(?:(?P<unit>{'|'.join(_SPELLED)})(?![a-z]))?[.]?\s*(?P<word>[a-z]*)",
    re.ASCII,
)
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d{1,2}(?!\d))", re.ASCII)
"""Three digits behind a comma may be thousands."""


@dataclass(frozen=True)
class Measure:
    """A figure in the unit it was given in, up (of a rudder: left) positive.

    Attributes
    ----------
    direction
        The word behind the figure; empty where none was given.
    """

    value: float
    unit: Unit
    direction: str = ""

    @property
    def linear(self) -> bool:
        """Whether it is a length."""
        return self.unit in _MM

    @property
    def mm(self) -> float:
        """The figure of a length in mm."""
        return self.value * _MM[self.unit]

    def reduced(self, percent: float) -> Measure:
        """Return the measure less so many per cent."""
        return Measure(self.value * (1 - percent / 100), self.unit)

    def __str__(self) -> str:
        size = abs(self.value) if self.direction else self.value
        return f"{size:g}{_SHOWN[self.unit]} {self.direction}".rstrip()


@dataclass(frozen=True)
class _Form:
    """What one kind of quantity accepts.

    Attributes
    ----------
    limits
        For each unit the least and the greatest figure; lengths in mm.
    """

    limits: dict[str, tuple[float, float]]
    expected: str
    signed: bool = False
    directed: bool = False

    def read(self, found: Any) -> Measure:
        measure = self._read(found) if isinstance(found, str) else None
        if measure is None:
            raise PydanticCustomError(
                "quantity", "{expected}", {"expected": self.expected, "instead": self._meant(found)}
            )
        return measure

    def _read(self, text: str) -> Measure | None:
        measure = _measure(text)
        return measure if measure and self._accepts(measure, signed=text.strip()[0] in "+-") else None

    def _meant(self, found: Any) -> list[str]:
        """Return the ways to write the figure that was found; where it may mean something else, the patterns.

        These have no figure: it could be taken for advice.
        """
        text = str(found).strip().lower() if type(found) in (str, int, float) else ""
        parts = _MISWRITTEN.fullmatch(_DECIMAL_COMMA.sub(".", text))
        if not parts:
            return self._patterns(list(self.limits))
        named = parts["unit"] or "".join(get_close_matches(parts["word"], _SPELLED, n=1))
        units: list[str] = [_SPELLED[named]] if named else list(self.limits)
        if not parts["unit"] and "%" in units and 0 < _size(parts["number"]) <= 1:
            return self._patterns(units)  # of a whole, perhaps
        figure, word = parts["sign"] + parts["number"], parts["word"]
        alike = get_close_matches(word, _SIGNS, n=1, cutoff=0.8 if parts["unit"] else 1.0)
        for ends in (alike,) if word else ([""], ["up", "down"]):
            ways = [f"{figure} {unit} {end}".strip() for unit in units for end in ends]
            if accepted := [way for way in ways if self._read(way)]:
                return accepted
        return self._patterns(units)

    def _patterns(self, units: list[str]) -> list[str]:
        """Return how a figure is written in those units that are taken; where none is, in every one that is."""
        taken = [unit for unit in units if ("mm" if unit in _MM else unit) in self.limits] or self.limits
        return [f"NUMBER {unit}{' down' if self.directed else ''}" for unit in taken]

    def _accepts(self, measure: Measure, signed: bool) -> bool:
        if (signed and not self.signed) or (measure.direction and not self.directed):
            return False
        if self.directed and measure.value and not measure.direction:
            return False
        figure, unit = (measure.mm, "mm") if measure.linear else (measure.value, measure.unit)
        return unit in self.limits and self.limits[unit][0] <= figure <= self.limits[unit][1]


def _measure(text: str) -> Measure | None:
    found = _QUANTITY.fullmatch(text.strip())
    if not found:
        return None
    direction = found["direction"] or ""
    sign = -1 if found["sign"] == "-" else _SIGNS.get(direction, 1)
    return Measure(sign * _size(found["number"]), _UNITS[found["unit"]], direction)


def _size(number: str) -> float:
    return float(sum(Fraction(part) for part in re.split("[ -]", number)))


_LEAST = 1e-6
_LENGTH = _Form({"mm": (_LEAST, 5000)}, "a length up to 5000 mm with its unit, mm or in")
_ANGLE = _Form({"deg": (-90, 90)}, "an angle from -90 to 90 deg", signed=True)
_PERCENT = _Form({"%": (0, 100)}, "a part from 0 to 100 %")
_DIFFERENTIAL = _Form({"%": (0, 99)}, "a part from 0 to 99 %")
_THROW = _Form(
    {"deg": (_LEAST, 90), "mm": (_LEAST, 500)},
    "a throw up to 90 deg or 500 mm with its unit, mm, in or deg, without sign and direction",
)
_POSITION = _Form(
    {"deg": (-90, 90), "mm": (-500, 500)},
    "a position up to 90 deg or 500 mm with unit and direction, or 0 with its unit",
    directed=True,
)
_TOLERANCE = _Form({"deg": (0.01, 10), "mm": (0.01, 20)}, "a tolerance up to 10 deg or 20 mm with its unit")


def _value(form: _Form) -> Callable[[Any], float]:
    return lambda found: form.read(found).value


LengthMm = Annotated[float, PlainValidator(lambda found: _LENGTH.read(found).mm)]
"""A length of the file, in mm."""
AngleDeg = Annotated[float, PlainValidator(_value(_ANGLE))]
"""A signed angle of the file, in degrees."""
Percent = Annotated[float, PlainValidator(_value(_PERCENT))]
"""A part of the file, in per cent."""
Differential = Annotated[float, PlainValidator(_value(_DIFFERENTIAL))]
"""How much less a surface goes down than up, in per cent."""
Throw = Annotated[Measure, PlainValidator(_THROW.read)]
"""The size of a throw."""
Position = Annotated[Measure, PlainValidator(_POSITION.read)]
"""A place away from neutral, with its direction."""
Tolerance = Annotated[Measure, PlainValidator(_TOLERANCE.read)]
"""How far off still is within."""
