"""What moved from session to session, or differs between two aircraft of a pair, beyond the uncertainty of both."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import NormalDist
from typing import NamedTuple

from hingeline.errors import UsageProblem
from hingeline.report.results import Results

CONFIDENCE = 0.95
PLAY = "play"
_AT = re.compile(r" at [-+\d.]+° \w+$")


Place = tuple[str, str, str]
"""Of what a value is: surface, position and name."""


class Value(NamedTuple):
    """What a session has of a place, as it was left: an angle in degrees, up positive, or what a check gave."""

    unit: str
    value: float
    standard_uncertainty: float


@dataclass(frozen=True)
class Change:
    """One value in two sessions, as each was left, in `unit`; deflection up is positive.

    Position and name say of what: "up · normal" and "left", say, or "play" and "left, play". `reach_95` is what the
    change is uncertain by, with 95 % for all changes of a comparison together; `moved` is whether it is beyond that.
    """

    surface: str
    position: str
    name: str
    unit: str
    old: float
    new: float
    change: float
    reach_95: float
    moved: bool
    word: str


@dataclass(frozen=True)
class Comparison:
    """Sessions of one aircraft, or one each of two aircraft of a pair, in the order they were named.

    The first, `old`, is compared with the last, `new`: `changes` are of everything that was measured at both, in the
    order of the new one; `only_old` and `only_new` what was measured at one alone, in words. `wrong` is what was read
    at either with an angle known to be wrong, and why, in words: it is not compared.
    """

    sessions: tuple[Results, ...]
    changes: tuple[Change, ...]
    only_old: tuple[str, ...]
    only_new: tuple[str, ...]
    wrong: tuple[str, ...]

    @property
    def old(self) -> Results:
        """The first session."""
        return self.sessions[0]

    @property
    def new(self) -> Results:
        """The last session."""
        return self.sessions[-1]

    @property
    def is_pair(self) -> bool:
        """Whether they are of two aircraft."""
        return self.old.aircraft != self.new.aircraft

    @property
    def heads(self) -> tuple[str, ...]:
        """What tells the sessions apart: the aircraft, else their days, or where those are the same, minutes."""
        if self.is_pair:
            return self.old.aircraft, self.new.aircraft
        days = tuple(session.day for session in self.sessions)
        return days if len(set(days)) == len(days) else tuple(session.minute for session in self.sessions)

    @property
    def moved(self) -> tuple[Change, ...]:
        return tuple(change for change in self.changes if change.moved)


def compare(*sessions: Results) -> Comparison:
    """Compare the first of two or more sessions with the last.

    The reach is the normal quantile of Bonferroni for n values: together they hold with 95 %. One calibration used at
    both sessions errs alike at both, so the reach is rather too wide than too narrow.

    Raises `UsageProblem` (more than two sessions are of several aircraft, one is named twice, or first and last have
    nothing in common).
    """
    old, new = sessions[0], sessions[-1]
    aircraft = {session.aircraft: None for session in sessions}
    if len(aircraft) > 1 and len(sessions) > 2:
        raise UsageProblem(
            f"The sessions are of {' and '.join(aircraft)}", "Name sessions of one aircraft, or one each of a pair"
        )
    files = [frozenset(each.run.path.resolve() for each in results.runs) for results in sessions]
    if len(set(files)) < len(files):
        twice = next(session for session, own in zip(sessions, files, strict=True) if files.count(own) > 1)
        raise UsageProblem(
            f"The same session, of {twice.day}, is named twice",
            "Name an earlier one: AIRCRAFT@DATE; see `hingeline sessions`",
        )
    wrong = {row.key: row.as_left.reason for row in (*old.rows, *new.rows) if row.as_left.wrong}
    before, now = ({key: value for key, value in values_of(results) if key not in wrong} for results in (old, new))
    both = [key for key in now if key in before and before[key].unit == now[key].unit]
    if not both:
        raise UsageProblem(
            f"Nothing was measured both in the session of {_of(old, new)} and in that of {_of(new, old)}",
            "Name sessions in which the same surfaces were measured",
        )
    factor = NormalDist().inv_cdf(1 - (1 - CONFIDENCE) / 2 / len(both))
    words = ("differs", "alike") if len(aircraft) > 1 else ("moved", "as before")
    return Comparison(
        sessions,
        tuple(_change(key, before[key], now[key], factor, words) for key in both),
        tuple(", ".join(key) for key in before if key not in both),
        tuple(", ".join(key) for key in now if key not in both),
        tuple(f"{', '.join(key)}: {reason}" for key, reason in wrong.items()),
    )


def _of(results: Results, other: Results) -> str:
    return results.day if results.aircraft == other.aircraft else results.aircraft


def _change(key: Place, old: Value, new: Value, factor: float, words: tuple[str, str]) -> Change:
    reach = factor * math.hypot(old.standard_uncertainty, new.standard_uncertainty)
    moved = abs(new.value - old.value) > reach
    word = words[0] if moved else words[1]
    if moved and key[1] == PLAY and words[0] == "moved":
        word = "grown" if abs(new.value) > abs(old.value) else "less"
    return Change(*key, new.unit, old.value, new.value, new.value - old.value, reach, moved, word)


def values_of(results: Results) -> Iterator[tuple[Place, Value]]:
    """Yield everything that can be compared: readings, then what checks gave."""
    for row in results.rows:
        measured = row.as_left.measured
        yield row.key, Value("deg", measured.deg, measured.standard_uncertainty_deg)
    for check in results.checks.values():
        for result in check.results:
            name = _AT.sub("", result.name)  # the place of the worst tracking changes from session to session
            yield (check.surface, check.check, name), Value(result.unit, result.value, result.standard_uncertainty)
