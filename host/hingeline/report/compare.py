"""What moved since an earlier session, beyond what both sessions are uncertain by."""

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


class _Value(NamedTuple):
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
    """Two sessions of one aircraft.

    `changes` are of everything that was measured at both, in the order of the new one; `only_old` and `only_new` what
    was measured at one alone, in words. `wrong` is what was read at either with an angle known to be wrong, and why, in
    words: it is not compared.
    """

    old: Results
    new: Results
    changes: tuple[Change, ...]
    only_old: tuple[str, ...]
    only_new: tuple[str, ...]
    wrong: tuple[str, ...]

    @property
    def dates(self) -> tuple[str, str]:
        """When old and new were measured: days, or where that is one, minutes."""
        days = self.old.day, self.new.day
        return days if days[0] != days[1] else (self.old.minute, self.new.minute)

    @property
    def moved(self) -> tuple[Change, ...]:
        return tuple(change for change in self.changes if change.moved)


def compare(old: Results, new: Results) -> Comparison:
    """Compare two sessions.

    The reach is the normal quantile of Bonferroni for n values: together they hold with 95 %. One calibration used at
    both sessions errs alike at both, so the reach is rather too wide than too narrow.

    Raises `UsageProblem` (they are of two aircraft, or the same session, or have nothing in common).
    """
    if old.aircraft != new.aircraft:
        raise UsageProblem(
            f"The old session is of {old.aircraft}, the new one of {new.aircraft}", "Name two sessions of one aircraft"
        )
    files = [{each.run.path.resolve() for each in results.runs} for results in (old, new)]
    if files[0] == files[1]:
        raise UsageProblem(
            f"Old and new are the same session, of {new.day}",
            "Name an earlier one: AIRCRAFT@DATE; see `hingeline sessions`",
        )
    wrong = {row.key: row.as_left.reason for row in (*old.rows, *new.rows) if row.as_left.wrong}
    before, now = ({key: value for key, value in _values(results) if key not in wrong} for results in (old, new))
    both = [key for key in now if key in before and before[key].unit == now[key].unit]
    if not both:
        raise UsageProblem(
            f"Nothing was measured both in the session of {old.day} and in that of {new.day}",
            "Name sessions in which the same surfaces were measured",
        )
    factor = NormalDist().inv_cdf(1 - (1 - CONFIDENCE) / 2 / len(both))
    return Comparison(
        old,
        new,
        tuple(_change(key, before[key], now[key], factor) for key in both),
        tuple(", ".join(key) for key in before if key not in both),
        tuple(", ".join(key) for key in now if key not in both),
        tuple(f"{', '.join(key)}: {reason}" for key, reason in wrong.items()),
    )


def _change(key: tuple[str, str, str], old: _Value, new: _Value, factor: float) -> Change:
    reach = factor * math.hypot(old.standard_uncertainty, new.standard_uncertainty)
    moved = abs(new.value - old.value) > reach
    word = "moved" if moved else "as before"
    if moved and key[1] == PLAY:
        word = "grown" if abs(new.value) > abs(old.value) else "less"
    return Change(*key, new.unit, old.value, new.value, new.value - old.value, reach, moved, word)


def _values(results: Results) -> Iterator[tuple[tuple[str, str, str], _Value]]:
    for row in results.rows:
        measured = row.as_left.measured
        yield row.key, _Value("deg", measured.deg, measured.standard_uncertainty_deg)
    for check in results.checks.values():
        for result in check.results:
            name = _AT.sub("", result.name)  # the place of the worst tracking changes from session to session
            yield (check.surface, check.check, name), _Value(result.unit, result.value, result.standard_uncertainty)
