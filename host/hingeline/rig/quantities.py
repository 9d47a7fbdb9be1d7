"""Figures as a manual writes them, each with its unit: `13 mm`, `15 deg`, `1 1/2 in`, `40 %`, `3 mm down`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

from hingeline.units import MM_PER_INCH, UNITS

Unit = Literal["deg", "mm", "in", "%"]

_UNITS: dict[str, Unit] = {"deg": "deg", "°": "deg", "mm": "mm", "in": "in", "%": "%"}
_MM = {"mm": 1.0, "in": MM_PER_INCH}
SIGNS = {"up": 1, "left": 1, "down": -1, "right": -1}
_NUMBER = r"(?P<number>\d{1,5}(?:\.\d{1,6})?|(?:\d{1,3}[ -])?\d{1,2}/[1-9]\d?)"
_QUANTITY = re.compile(
    rf"(?P<sign>[+-]?){_NUMBER}\s*(?P<unit>{'|'.join(_UNITS)})(?:\s+(?P<direction>{'|'.join(SIGNS)}))?",
    re.ASCII,
)
_SPELLED: dict[str, Unit] = {"degrees": "deg", "degree": "deg", "inches": "in", "inch": "in", '"': "in"}
_SPELLED |= _UNITS
_MISWRITTEN = re.compile(
    rf"(?P<sign>[+-]?)\s*{_NUMBER}\s*(?:(?P<unit>{'|'.join(_SPELLED)})(?![a-z]))?[.]?\s*(?P<word>[a-z]*)",
    re.ASCII,
)
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d{1,2}(?!\d))", re.ASCII)
"""Three digits behind a comma may be thousands."""


@dataclass(frozen=True)
class Measure:
    """A figure in the unit it was given in, up (of a rudder: left) positive, and the direction written behind it."""

    value: float
    unit: Unit
    direction: str = ""

    @property
    def linear(self) -> bool:
        """It is a length, not an angle or a part."""
        return self.unit in _MM

    @property
    def mm(self) -> float:
        """The figure of a length in mm."""
        return self.value * _MM[self.unit]

    def __str__(self) -> str:
        size = abs(self.value) if self.direction else self.value
        return f"{size:g}{UNITS.get(self.unit, ' %')} {self.direction}".rstrip()


@dataclass(frozen=True)
class _Form:
    """How one kind of quantity is written."""

    limits: dict[str, tuple[float, float]]
    """For each unit the least and the greatest figure; lengths in mm."""
    expected: str
    signed: bool = False
    """It may have a sign."""
    directed: bool = False
    """It has a direction behind it."""

    def read(self, written: Any) -> Measure:
        measure = self._read(written) if isinstance(written, str) else None
        if measure is None:
            context = {"expected": self.expected, "instead": self._propose(written)}
            raise PydanticCustomError("quantity", "{expected}", context)
        return measure

    def _read(self, text: str) -> Measure | None:
        parts = _QUANTITY.fullmatch(text.strip())
        if not parts or (parts["sign"] and not self.signed):
            return None
        direction = parts["direction"] or ""
        sign = -1 if parts["sign"] == "-" else SIGNS.get(direction, 1)
        measure = Measure(sign * _size(parts["number"]), _UNITS[parts["unit"]], direction)
        if (direction and not self.directed) or (self.directed and measure.value and not direction):
            return None
        figure, unit = (measure.mm, "mm") if measure.linear else (measure.value, measure.unit)
        if unit not in self.limits:
            return None
        least, greatest = self.limits[unit]
        return measure if least <= figure <= greatest else None

    def _propose(self, written: Any) -> list[str]:
        """List the ways to write the figure that is there; where its meaning is unsure, patterns without a figure.

        A wrong figure could be taken for advice.
        """
        text = str(written).strip().lower() if type(written) in (str, int, float) else ""
        parts = _MISWRITTEN.fullmatch(_DECIMAL_COMMA.sub(".", text))
        if not parts:
            return self._patterns(list(self.limits))
        word = parts["word"]
        spelled = parts["unit"] or "".join(get_close_matches(word, _SPELLED, n=1))
        units: list[str] = [_SPELLED[spelled]] if spelled else list(self.limits)
        if not parts["unit"] and "%" in units and 0 < _size(parts["number"]) <= 1:
            return self._patterns(units)  # perhaps a part of 1, not of 100
        alike = get_close_matches(word, SIGNS, n=1, cutoff=0.8 if parts["unit"] else 1.0)
        for ends in (alike,) if word else ([""], ["up", "down"]):
            figure = f"{parts['sign']}{parts['number']}"
            ways = [f"{figure} {unit} {end}".strip() for unit in units for end in ends]
            if accepted := [way for way in ways if self._read(way)]:
                return accepted
        return self._patterns(units)

    def _patterns(self, units: list[str]) -> list[str]:
        """How a figure is written in those units that are accepted; if none is, in every one that is."""
        accepted = [unit for unit in units if ("mm" if unit in _MM else unit) in self.limits] or self.limits
        return [f"NUMBER {unit}{' down' if self.directed else ''}" for unit in accepted]


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

LengthMm = Annotated[float, PlainValidator(lambda written: _LENGTH.read(written).mm)]
AngleDeg = Annotated[float, PlainValidator(lambda written: _ANGLE.read(written).value)]
Percent = Annotated[float, PlainValidator(lambda written: _PERCENT.read(written).value)]
Differential = Annotated[float, PlainValidator(lambda written: _DIFFERENTIAL.read(written).value)]
"""How much less a surface goes down than up, in per cent."""
Throw = Annotated[Measure, PlainValidator(_THROW.read)]
"""The size of a throw."""
Position = Annotated[Measure, PlainValidator(_POSITION.read)]
"""Away from neutral, with its direction."""
Tolerance = Annotated[Measure, PlainValidator(_TOLERANCE.read)]
