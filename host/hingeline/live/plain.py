"""Line by line: for pipes, plain terminals and screen readers. With what a command asks and tells, it says all that
the live screen shows."""

from __future__ import annotations

from collections.abc import Callable

from hingeline.live.picture import Gap, Picture, Place

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
    tell
        Returns what is worth saying of a picture.
    """

    beats = 8

    def __init__(
        self, say: Callable[[str], None], now_s: Callable[[], float], tell: Callable[[Picture], str]
    ) -> None:
        self._say, self._now_s, self._tell = say, now_s, tell
        self._key: object = None
        self._news: object = None
        self._at_s = float("-inf")

    def show(self, picture: Picture) -> None:
        """Say what is new."""
        key = (
            tuple((gap.what, gap.word) for gap in picture.gaps),
            tuple((one.side, one.condition) for one in picture.alarms),
            picture.unit,
            picture.problem,
        )
        line = self._tell(picture)
        numbered = picture.sides or picture.alarms or picture.problem
        news = line if numbered else tuple((one.side, one.condition) for one in picture.sensors)
        due = self._now_s() - self._at_s >= EVERY_S
        if line and news != self._news and (key != self._key or due):
            self._say(line)
            self._news, self._at_s = news, self._now_s()
        self._key = key


def wrong(picture: Picture) -> str:
    """Return what is wrong in one line; empty where nothing is."""
    return "; ".join([*(f"ALARM: {one.text}" for one in picture.alarms), *filter(None, [picture.problem])])


def spoken(picture: Picture) -> str:
    """Return a picture in one line, what is wrong first; empty where nobody listens."""
    if all(one.condition == "waiting" for one in picture.sensors):
        return ""
    sides = (_side(one, picture) for one in picture.sides)
    others = (one.text for one in picture.sensors if one not in picture.alarms)
    return "; ".join(filter(None, [wrong(picture), *sides, *others, picture.taken]))


def _side(one: Gap | Place, picture: Picture) -> str:
    unit = picture.unit
    reach = f"±{one.reach.number(unit).lstrip('+')}"
    if isinstance(one, Place):
        return f"{one.what}: {one.now.text(unit)} {reach} from neutral"
    return (
        f"{one.what}: {one.word} {one.to_go.text(unit)} to go, now {one.now.text(unit)} {reach}, "
        f"wanted {one.wanted.text(unit)}"
    )
