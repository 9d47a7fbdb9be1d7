"""Line by line: for pipes, plain terminals and screen readers. It says all that the live screen shows."""

from __future__ import annotations

from collections.abc import Callable

from hingeline.view.picture import Gap, Picture, Place

EVERY_S = 2.0
"""A number that changes is said again after so long: common practice, no source."""


class PlainLines:
    """Says a picture where it says something new: an alarm or a word at once, numbers now and then.

    Parameters
    ----------
    say
        Takes a line.
    now_s
        A monotonic clock.
    """

    def __init__(self, say: Callable[[str], None], now_s: Callable[[], float]) -> None:
        self._say, self._now_s = say, now_s
        self._key: object = None
        self._line = ""
        self._at_s = float("-inf")

    def show(self, picture: Picture) -> None:
        """Say what is new."""
        key = (
            tuple((gap.what, gap.word) for gap in picture.gaps),
            tuple((one.side, one.condition) for one in picture.alarms),
            picture.unit,
            picture.problem,
        )
        line = spoken(picture)
        due = self._now_s() - self._at_s >= EVERY_S
        if line and line != self._line and (key != self._key or due):
            self._say(line)
            self._line, self._at_s = line, self._now_s()
        self._key = key


def spoken(picture: Picture) -> str:
    """Return a picture in one line; empty where there is nothing to say yet."""
    if picture.alarms:
        return "; ".join(f"ALARM: {one.text}" for one in picture.alarms)
    if picture.problem:
        return picture.problem
    if not picture.sides:
        return ""
    return "; ".join(
        [*(_side(one, picture) for one in picture.sides), *(one.text for one in picture.sensors)]
    )


def _side(one: Gap | Place, picture: Picture) -> str:
    unit = picture.unit
    reach = f"±{one.reach.number(unit).lstrip('+')}"
    if isinstance(one, Place):
        return f"{one.what}: {one.now.text(unit)} {reach} from neutral"
    return (
        f"{one.what}: {one.word} {one.to_go.text(unit)} to go, now {one.now.text(unit)} {reach}, "
        f"wanted {one.wanted.text(unit)}"
    )
