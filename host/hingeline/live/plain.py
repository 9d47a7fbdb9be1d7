"""Line by line: for pipes, plain terminals and screen readers. With what a command asks and tells, it says all that
the live screen shows."""

from __future__ import annotations

from collections.abc import Callable

from hingeline.procedures.state import Gap, Place, State
from hingeline.units import UNITS

EVERY_S = 2.0
"""A number that changes is said again after so long: common practice, no source."""


class PlainLines:
    """Says a state where it says something new: an alarm or a word at once, numbers now and then.

    Parameters
    ----------
    say
        Takes a line.
    now_s
        A monotonic clock.
    tell
        Returns what is worth saying of a state.
    """

    beats = 8

    def __init__(
        self, say: Callable[[str], None], now_s: Callable[[], float], tell: Callable[[State], str]
    ) -> None:
        self._say, self._now_s, self._tell = say, now_s, tell
        self._key: object = None
        self._news: object = None
        self._at_s = float("-inf")

    def show(self, state: State) -> None:
        """Say what is new."""
        key = (
            tuple((gap.side, gap.word) for gap in state.gaps),
            tuple((one.side, one.condition) for one in state.alarms),
            state.unit,
            state.problem,
        )
        line = self._tell(state)
        numbered = state.sides or state.alarms or state.problem
        news = line if numbered else tuple((one.side, one.condition) for one in state.sensors)
        due = self._now_s() - self._at_s >= EVERY_S
        if line and news != self._news and (key != self._key or due):
            self._say(line)
            self._news, self._at_s = news, self._now_s()
        self._key = key


def wrong(state: State) -> str:
    """Return what is wrong in one line; empty where nothing is."""
    return "; ".join([*(f"ALARM: {one.text}" for one in state.alarms), *filter(None, [state.problem])])


def spoken(state: State) -> str:
    """Return a state in one line, what is wrong first; empty where nobody listens."""
    if all(one.condition == "waiting" for one in state.sensors):
        return ""
    sides = (_side(one, state) for one in state.sides)
    others = (one.text for one in state.sensors if one not in state.alarms)
    return "; ".join(filter(None, [wrong(state), *sides, *others, state.taken_text]))


def _side(one: Gap | Place, state: State) -> str:
    unit = state.unit
    reach = f"±{one.reach.unsigned(unit)}"
    if isinstance(one, Place):
        return f"{one.side}: {one.now.text(unit)} {reach} from neutral"
    return (
        f"{one.side}: {one.word} {one.to_go.unsigned(unit)}{UNITS[one.to_go.unit_of(unit)]}, "
        f"now {one.now.text(unit)} {reach}, wanted {one.wanted.text(unit)}"
    )
