"""What moved since an earlier session, beyond whin both sessions are uncertain by."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from statistics import NormalDist

from hingeline.checks.results import LimitResult
from hingeline.checks.values import Judgement
from hingeline.errors import UsageProblem
from hingeline.report.results import Results

CONFIDENCE = 0.95
PLAY = "play"
_AT = re.compile(r" at [-+\d.]+° \w+$")


@dataclass(frozen=True)
class Change:
    """One value in two sessions, as each was left.

    Attributes
    ----------
    surface, position, name
        Of what: "up · normal" and "left", say, or "play" and "left, play".
    old, new
        In `unit`, deflection up positive.
    change, reach_95
        How far it moved, and what that is uncertain by: with 95 % for all changes of a comparison together.
    moved, word
        Whether it moved beyond that, and what to say of it.
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

    Attributes
    ----------
    changes
        Of everything that was measured at both, in the order of the new one.
    only_old, only_new
        What was measured at one alone, in words.
    """

    old: Results
    new: Results
    changes: tuple[Change, ...]
    only_old: tuple[str, ...]
    only_new: tuple[str, ...]

    @property
    def dates(self) -> tuple[str, str]:
        """When old and new were measured: days, or where that is one, minutes."""
        days = self.old.day, self.new.day
        return days if days[0] != days[1] else (self.old.minute, self.new.minute)

    @property
    def moved(self) -> tuple[Change, ...]:
        """What moved beyond the uncertainty."""
        return tuple(change for change in self.changes if change.moved)


Key = tuple[str, str, str]
Value = tuple[str, float, float]
"""Unit, value, standard uncertainty."""


def compare(old: Results, new: Results) -> Comparison:
    """Compare two sessions.

    Raises
    ------
    UsageProblem
        They are of two aircraft, or the same session, or have nothing in common.

    Notes
    -----
    The reach is the normal quantile of Bonferroni for n values: together they hold with 95 %. One calibration used at
    both sessions errs alike at both, so the reach is rather too wide than too narrow.
    """
    if old.aircraft != new.aircraft:
        raise UsageProblem(
            f"The old session is of {old.aircraft}, the new one of {new.aircraft}",
            "Name two sessions of one aircraft",
        )
    files = [{each.run.path.resolve() for each in results.runs} for results in (old, new)]
    if files[0] == files[1]:
        raise UsageProblem(
            f"Old and new are the same session, of {new.day}",
            "Name an earlier one: AIRCRAFT@DATE; see `hingeline sessions`",
        )
    before, now = dict(_values(old)), dict(_values(new))
    both = [key for key in now if key in before and before[key][0] == now[key][0]]
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
    )


def _change(key: Key, before: Value, now: Value, factor: float) -> Change:
    unit, old, old_sd = before
    _, new, new_sd = now
    reach = factor * math.hypot(old_sd, new_sd)
    moved = abs(new - old) > reach
    of_play = "grown" if abs(new) > abs(old) else "less"
    word = of_play if key[1] == PLAY else "moved"
    return Change(*key, unit, old, new, new - old, reach, moved, word if moved else "as before")


def _values(results: Results) -> Iterator[tuple[Key, Value]]:
    for row in results.rows:
        yield row.key, _of_reading(row.as_left)
    for (check, surface), check_result in results.checks.items():
        for result in check_result.results:
            yield (surface, check, _place(result)), (result.unit, result.value, result.standard_uncertainty)


def _of_reading(judged: Judgement) -> Value:
    return "deg", judged.measured.deg, judged.measured.standard_uncertainty_deg


def _place(result: LimitResult) -> str:
    """What was looked for; the place of the worst tracking changes from session to session and is left out."""
    return _AT.sub("", result.name)
