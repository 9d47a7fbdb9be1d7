"""At which of its positions a surface came to rest, whichever order they are held in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from hingeline.checks.positions import Position
from hingeline.checks.throws import ThrowsCheck
from hingeline.measure.capture import Readings
from hingeline.units import Side
from hingeline_calibration.hinge import Deflection

_SHARE = 0.3
"""Of a way: nearer than this to where it was the surface is on its way still, and further than this off a target it is
not that position where another one fits. Common practice, no source."""
_FITS = 0.1
"""Of a target: this near to it, or within the tolerance, a position that was not asked for is recognised."""
_MOST = 1.6
"""Times the target: further out than this an end point takes nothing."""
_ALL_THE_WAY = 0.75
"""Of a target: a rest short of this on every side is asked about, before anything mechanical is advised."""


@dataclass(frozen=True)
class Recognition:
    """Recognises where a surface rests: `asked` is asked for, `held` was read last, `others` are still to be read.

    Others count as soon as the surface is known to go the right way: before that, a reversed servo looks like the
    stick at its other end.
    """

    check: ThrowsCheck
    asked: Position
    held: Position | None
    others: tuple[Position, ...]
    is_right_way: bool

    def position(self, readings: Readings) -> Position | None:
        """The position it has reached; None before that."""
        now, ranked = self.check.neutral.deflections(readings), []
        if not self.check.under_way(self.asked, readings):
            ranked.append((_miss_deg(self.asked, now), 0, self.asked))
        if self.held is not None and self.is_followed(now):
            ranked.append((_miss_deg(self.held, now), 1, self.held))
        if self.asked.targets and not self._is_asked(now):
            ranked += [(_miss_deg(other, now), 2, other) for other in self._fitting(now)]
        return min(ranked, key=lambda each: each[:2])[2] if ranked else None

    def is_followed(self, now: Mapping[Side, Deflection]) -> bool:
        """Whether it is still held where it was read, or its end points are being turned.

        An end point turned down too far looks like a stick let go: there, a key takes the reading.
        """
        if self.held is None or self.check.last is None or not self.held.targets:
            return False
        _, was = self.check.last
        return all(
            _is_turned(now[side].deflection_deg, was[side].deflection_deg, target.deflection_deg, target.tolerance_deg)
            for side, target in self.held.targets.items()
        )

    def _is_asked(self, now: Mapping[Side, Deflection]) -> bool:
        return all(
            abs(now[side].deflection_deg - target.deflection_deg) <= _SHARE * abs(target.deflection_deg)
            for side, target in self.asked.targets.items()
        )

    def _fitting(self, now: Mapping[Side, Deflection]) -> Iterable[Position]:
        for other in self.others:
            if other.targets and (self.is_right_way or self._is_same_way(other)) and fits(other, now):
                yield other

    def _is_same_way(self, other: Position) -> bool:
        return self.asked.targets.keys() == other.targets.keys() and all(
            self.asked.goal_deg(side) * other.goal_deg(side) > 0 for side in other.targets
        )


def fits(position: Position, now: Mapping[Side, Deflection]) -> bool:
    """Whether every side stands near where a position wants it."""
    return all(
        abs(now[side].deflection_deg - target.deflection_deg)
        <= max(target.tolerance_deg, _FITS * abs(target.deflection_deg))
        for side, target in position.targets.items()
    )


def is_part_way(position: Position, now: Mapping[Side, Deflection]) -> bool:
    """Whether every side stands the right way, but well short of a position."""
    return bool(position.targets) and all(
        0 < now[side].deflection_deg * target.deflection_deg < _ALL_THE_WAY * target.deflection_deg**2
        and abs(now[side].deflection_deg - target.deflection_deg) > target.tolerance_deg
        for side, target in position.targets.items()
    )


def _miss_deg(position: Position, now: Mapping[Side, Deflection]) -> float:
    return max(
        (abs(now[side].deflection_deg - target.deflection_deg) for side, target in position.targets.items()),
        default=max(abs(angle.deflection_deg) for angle in now.values()),
    )


def _is_turned(now_deg: float, was_deg: float, goal_deg: float, tolerance_deg: float) -> bool:
    """Whether a side stands where it was read, nearer to where it is wanted, or further out."""
    if now_deg * was_deg < 0 or abs(now_deg) > _MOST * max(abs(goal_deg), abs(was_deg)):
        return False
    is_outward = abs(now_deg) >= abs(was_deg)
    return is_outward or abs(now_deg - goal_deg) <= max(abs(was_deg - goal_deg), tolerance_deg)
