"""Line by line: for pipes, plain terminals and screen readers. With what a command asks and tells, it says all that
the live screen shows."""

from __future__ import annotations

from collections.abc import Callable

from hingeline.live.words import detail, verdicts_of
from hingeline.procedures.state import Gap, Place, State
from hingeline.units import UNITS, Unit

EVERY_S = 2.0
"""A number that changes is said again after so long: common practice, no source."""


class PlainLines:
    """Says what `tell` makes of a state where that is new: an alarm or a word at once, numbers now and then."""

    beats = 8

    def __init__(self, say: Callable[[str], None], now_s: Callable[[], float], tell: Callable[[State], str]) -> None:
        self._say, self._now_s, self._tell = say, now_s, tell
        self._key: object = None
        self._news: object = None
        self._at_s = float("-inf")

    def show(self, state: State) -> None:
        """Say what is new."""
        key = (*verdicts_of(state), state.unit, state.problem)
        line = self._tell(state)
        numbered = state.sides or state.alarms or state.problem
        news = line if numbered else tuple((sensor.side, sensor.condition) for sensor in state.sensors)
        due = self._now_s() - self._at_s >= EVERY_S
        if line and news != self._news and (key != self._key or due):
            self._say(line)
            self._news, self._at_s = news, self._now_s()
        self._key = key


def wrong(state: State) -> str:
    """Write what is wrong as one line; empty where nothing is."""
    return "; ".join([*(f"ALARM: {sensor.text}" for sensor in state.alarms), *filter(None, [state.problem])])


def spoken(state: State) -> str:
    """Write a state as one line, what is wrong first; empty while nothing is measured."""
    if all(sensor.condition == "waiting" for sensor in state.sensors):
        return ""
    sides = (_side(side, state.unit) for side in state.sides)
    others = (sensor.text for sensor in state.sensors if sensor not in state.alarms)
    return "; ".join(filter(None, [wrong(state), *sides, *others, state.taken_text]))


def _side(side: Gap | Place, unit: Unit) -> str:
    if not isinstance(side, Gap):
        return f"{side.side}: {side.now.text(unit)} {detail(side, unit)} from neutral"
    to_go = f"{side.to_go.unsigned(unit, side.reach)}{UNITS[side.to_go.unit_of(unit)]}"
    return f"{side.side}: {side.word} {to_go}, {detail(side, unit)}"
