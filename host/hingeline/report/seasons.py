"""The course of each value over several sessions: a small plot of each surface, and a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

from matplotlib.axes import Axes

from hingeline.checks.positions import NEUTRAL
from hingeline.checks.values import LEFT_RIGHT
from hingeline.report.compare import PLAY, Comparison, Place, values_of
from hingeline.report.drawing import QUIET, SIDES, Plot, panels
from hingeline.report.table import csv_table
from hingeline.units import UNITS, signed
from hingeline_calibration.budget import COVERAGE_FACTOR

COLUMNS = ("session", "day", "aircraft", "surface", "position", "name", "unit", "value", "value_95", "changed")
_BACK = "back at"
_BESIDE = 0.1
"""The right side is drawn so far beside the left one, in sessions: bars must not hide each other."""


class Point(NamedTuple):
    """A value in one of the sessions, counted from 0, and how far its ± reaches, 95 %."""

    session: int
    value: float
    reach_95: float


class Course(NamedTuple):
    """What one place showed from session to session, in `unit`; `is_reading`: it was read, no check gave it."""

    place: Place
    unit: str
    is_reading: bool
    points: tuple[Point, ...]


def courses(comparison: Comparison) -> tuple[Course, ...]:
    """The course of all that two sessions or more have in one unit, without what is known to be wrong."""
    values = [
        {place: value for place, value in values_of(results) if not _is_wrong(comparison, number, place)}
        for number, results in enumerate(comparison.sessions)
    ]
    read = {row.key for results in comparison.sessions for row in results.rows}
    units = {place: value.unit for several in values for place, value in several.items()}
    found = (
        Course(
            place,
            unit,
            place in read,
            tuple(
                Point(number, several[place].value, COVERAGE_FACTOR * several[place].standard_uncertainty)
                for number, several in enumerate(values)
                if place in several and several[place].unit == unit
            ),
        )
        for place, unit in units.items()
    )
    return tuple(course for course in found if len(course.points) > 1)


def _is_wrong(comparison: Comparison, number: int, place: Place) -> bool:
    return any(row.key == place and row.as_left.wrong for row in comparison.sessions[number].rows)


def season_plots(comparison: Comparison) -> Iterator[Plot]:
    """Yield a small plot of each surface: its neutral and play as they were, and how its ends changed."""
    every = courses(comparison)
    months = [session.day[: len("2026-05")] for session in comparison.sessions]
    ticks = comparison.heads if comparison.is_pair or len(set(months)) < len(months) else months
    for index, surface in enumerate(dict.fromkeys(course.place[0] for course in every)):
        own = [course for course in every if course.place[0] == surface]
        kinds: dict[str, list[Course]] = {"neutral": [], "ends: change": [], "play": []}
        for course in own:
            if kind := _kind(course):
                kinds[kind].append(course)
        drawn: dict[str, Callable[[Axes], object]] = {
            f"{kind} in {UNITS.get(several[0].unit, several[0].unit).strip()}": partial(
                _draw, several, ticks, from_first=kind.startswith("ends")
            )
            for kind, several in kinds.items()
            if several
        }
        if drawn:
            yield panels(f"season-{index}", f"{surface}, session by session", _caption(comparison, surface), drawn)


def _kind(course: Course) -> str | None:
    """Which of the plots of its surface a course belongs to."""
    _, position, name = course.place
    if not course.is_reading:
        return "play" if position == PLAY else None
    if position.startswith(NEUTRAL):
        return "neutral"
    return None if position.startswith(_BACK) or name.startswith(LEFT_RIGHT) else "ends: change"


def _draw(several: Sequence[Course], ticks: Sequence[str], axes: Axes, *, from_first: bool) -> None:
    shown: set[str] = set()
    for course in several:
        label = course.place[2].split(",")[0]
        first = course.points[0].value if from_first else 0.0
        axes.errorbar(
            [point.session + _BESIDE * (label == "right") for point in course.points],
            [point.value - first for point in course.points],
            yerr=[point.reach_95 for point in course.points],
            **SIDES.get(label, SIDES["middle"]),
            capsize=2,
            elinewidth=0.8,
            label=None if label in shown else label,
        )
        shown.add(label)
    axes.set_xticks(range(len(ticks)), ticks, rotation=30, ha="right", rotation_mode="anchor")
    axes.set_xlim(-0.4, len(ticks) - 0.4)
    if from_first:
        axes.axhline(0, color=QUIET, linewidth=0.8, zorder=1)


def _caption(comparison: Comparison, surface: str) -> str:
    """What is beyond ± from the first session to the last, by name."""
    beyond = [
        f"{change.position}, {change.name} {signed(change.change)}{UNITS.get(change.unit, '')}"
        for change in comparison.moved
        if change.surface == surface
    ]
    last = f"Beyond ± from the first to the last: {'; '.join(beyond)}." if beyond else "Nothing is beyond ±."
    return f"Bars are ± of each value, 95 %. {last}"


def seasons_table(comparison: Comparison) -> bytes:
    """Every course as CSV, a row for each value; `changed` is yes in the last session where it is beyond ±."""
    moved = {(change.surface, change.position, change.name) for change in comparison.moved}
    last = len(comparison.sessions) - 1
    return csv_table(
        COLUMNS,
        (
            (
                *(comparison.heads[point.session], session.day, session.aircraft, *course.place, course.unit),
                *(point.value, point.reach_95, course.place in moved if point.session == last else None),
            )
            for course in courses(comparison)
            for point in course.points
            for session in [comparison.sessions[point.session]]
        ),
    )
