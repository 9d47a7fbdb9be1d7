"""The hands of whoever practises: which key moves what on the virtual bench, and what can be moved now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

from hingeline.rig.kinds import BOTH
from hingeline.units import Side

STROKE_S = 3.0
"""From end to end of a slow stroke."""
HALF_TURN_DEG = 0.95
"""What half a turn of an M2 clevis does at a horn of 12 mm: 0.2 mm over it."""
LEAST, MOST = 30, 150
"""Between these a transmitter sets its end points, in per cent; common practice, no source."""
UP, DOWN, CENTRED = "up", "down", "neutral"
ARROWS = {"\x1b[A": UP, "\x1bOA": UP, "\x1bH": UP, "\x1b[B": DOWN, "\x1bOB": DOWN, "\x1bP": DOWN}
"""What terminals send for the two arrows; the last of each is what Windows gives."""
_END_POINTS: dict[str, tuple[Side, int]] = {"1": ("left", -1), "2": ("left", 1), "3": ("right", -1), "4": ("right", 1)}
_STICK = {UP: UP, DOWN: DOWN, "c": CENTRED}
_CLEVIS = {"[": -HALF_TURN_DEG, "]": HALF_TURN_DEG}

Deed = dict[str, Any]
"""A command of the virtual bench."""


class Moved(NamedTuple):
    """What a key comes to: how the hands are then, and what they did; nothing where the key moves nothing now."""

    hands: Hands
    deeds: tuple[Deed, ...] = ()


@dataclass(frozen=True)
class Hands:
    """Sensors on the flat or taped on the `surface`, the stick, and the end points in per cent, by side and position.

    `full_deg` is how far each side goes at 100 %.
    """

    surface: str
    full_deg: Mapping[tuple[Side, str], float]
    is_taped: bool = False
    stick: str = CENTRED
    percent: Mapping[tuple[Side, str], int] = field(default_factory=dict)

    @property
    def hint(self) -> str:
        """Which keys move something now."""
        if not self.is_taped:
            return f"YOUR HANDS  L lay both on the flat · T tape them on the {self.surface}, then Space"
        if self.stick == CENTRED:
            return "YOUR HANDS  S slow stroke · ↑ ↓ stick · [ ] right clevis · L off, onto the flat"
        left, right = (f"{self.end_point(side)} %" for side in BOTH)
        return f"YOUR HANDS  C centre · end points: 1 2 left − + ({left}), 3 4 right − + ({right})"

    def end_point(self, side: Side) -> int:
        """The end point that a side stands at, in per cent."""
        return self.percent.get((side, self.stick), 100)

    def deflection_deg(self, side: Side, position: str) -> float:
        """Where a side goes at an end, from neutral."""
        return self.full_deg[side, position] * self.percent.get((side, position), 100) / 100

    def after(self, typed: str) -> Moved:
        """What a key does: `typed` is what the terminal sends for it."""
        key = ARROWS.get(typed, typed.lower())
        if key in _STICK:
            return Moved(replace(self, stick=_STICK[key]), (self._to(_STICK[key]),))
        if key in _CLEVIS:
            return Moved(self, (self._adjust("right", neutral_by_deg=_CLEVIS[key]),))
        if key in _END_POINTS and self.stick != CENTRED:
            return self._turned(*_END_POINTS[key])
        if key == "s":
            strokes = tuple({**self._to(position), "over_s": STROKE_S} for position in (UP, DOWN, CENTRED))
            return Moved(replace(self, stick=CENTRED), strokes)
        if key in ("l", "t"):
            return self._moved_sensors(is_taped=key == "t")
        return Moved(self)

    def _moved_sensors(self, *, is_taped: bool) -> Moved:
        hands = replace(self, is_taped=is_taped)
        if not is_taped:
            return Moved(hands, ({"do": "place", "sensor": "all", "face": "+z"},))
        taped = ({"do": "tape", "sensor": side, "surface": f"{self.surface} {side}"} for side in BOTH)
        return Moved(hands, tuple(taped))

    def _adjust(self, side: Side, **change: Any) -> Deed:
        return {"do": "adjust", "surface": f"{self.surface} {side}", **change}

    def _to(self, position: str) -> Deed:
        named = position if position == CENTRED else f"{self.surface} {position}"
        return {"do": "stick", "position": named}

    def _turned(self, side: Side, by_percent: int) -> Moved:
        place = side, self.stick
        hands = replace(self, percent={**self.percent, place: min(max(self.end_point(side) + by_percent, LEAST), MOST)})
        positions = {f"{self.surface} {self.stick}": hands.deflection_deg(side, self.stick)}
        return Moved(hands, (hands._adjust(side, positions=positions),))
