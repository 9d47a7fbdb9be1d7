"""The plots of a session, each only where its runs have the data."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes

from hingeline.checks.results import CheckResult
from hingeline.checks.values import Judgement
from hingeline.report.course import Course, courses
from hingeline.report.drawing import (
    INK,
    PAIR,
    QUIET,
    SIDES,
    Plot,
    dots,
    height_of,
    label_rows,
    legend,
    plot,
    steps_of,
    zero,
)
from hingeline.report.results import Results
from hingeline_calibration.budget import COVERAGE_FACTOR

_LETTER_PT, _LINE_PT, _AXES_PT = 5.2, 11.0, 400.0
"""Of the labels over a course: width of a letter, height of a line, and what the axes have of the plot's width."""
_SOURCES = 8
"""So many of the largest sources of uncertainty are shown."""


def plots(results: Results) -> tuple[Plot, ...]:
    """All plots that a session has the data for."""
    by_run = [list(courses(recorded)) for recorded in results.runs]
    everything = [course for of_run in by_run for course in of_run]
    latest = {course.surface: of_run for of_run in by_run for course in of_run}
    drawn = [
        _course(f"course-{index}", [course for course in of_run if course.surface == surface])
        for index, (surface, of_run) in enumerate(latest.items())
    ]
    for index, ((check, surface), result) in enumerate(results.checks.items()):
        drawn += _check(f"check-{index}", check, surface, result)
    drawn += _lengths(everything)
    drawn += _budget(results)
    return tuple(drawn)


def _course(name: str, both: list[Course]) -> Plot:
    first = both[0]
    labels = label_lines(first)

    def draw(axes: Axes) -> None:
        for course in both:
            style = SIDES[course.side]
            axes.plot(course.time_s, course.deflection_deg, color=style["color"], linewidth=0.6, alpha=0.6)
            steady_deg = np.where(course.steady, course.deflection_deg, np.nan)
            axes.plot(course.time_s, steady_deg, color=style["color"], linestyle=style["linestyle"])
            for rest in course.plateaus:
                span = (rest.start_s, rest.time_s)
                axes.plot(span, (rest.deflection_deg,) * 2, color=style["color"], linewidth=4, alpha=0.35)
            axes.plot(
                [rest.time_s for rest in course.plateaus],
                [rest.deflection_deg for rest in course.plateaus],
                **{**style, "linestyle": "none"},
                label=course.side,
            )
        for rest, line in zip(first.plateaus, labels, strict=True):
            axes.axvline(rest.time_s, color=QUIET, linewidth=0.5, linestyle=":", zorder=0)
            axes.annotate(
                rest.position,
                (rest.time_s, 1.0),
                xycoords=("data", "axes fraction"),
                xytext=(-3, 1 + _LINE_PT * line),
                textcoords="offset points",
                ha="right",
                va="bottom",
                color=INK,
            )
        axes.set_ylabel("deflection in °, up +")
        axes.set_xlabel("time in s")
        axes.margins(x=0.02)
        legend(axes)

    return plot(
        name,
        f"{first.surface}: deflection over time",
        "All that the sensors sent; thin where the surface moved too fast to be measured, broad at the rests that were "
        f"read. The last {first.command} of the session.",
        draw,
        2.2 + _LINE_PT * max(labels, default=0) / 72,
    )


def label_lines(course: Course) -> list[int]:
    """Find for each plateau the lowest line, from 0, on which its label, which ends there, is clear of the others."""
    letter_s = _LETTER_PT / _AXES_PT * float(np.ptp(course.time_s))
    ends_s: list[float] = []
    lines = []
    for rest in course.plateaus:
        starts_s = rest.time_s - letter_s * len(rest.position)
        line = next((line for line, end_s in enumerate(ends_s) if end_s <= starts_s), len(ends_s))
        ends_s[line : line + 1] = [rest.time_s]
        lines.append(line)
    return lines


def _check(name: str, check: str, surface: str, result: CheckResult) -> Iterator[Plot]:
    if result.steps:
        yield _tracking(name, surface, result)
    if result.rests_deg:
        yield _rested(name, check, surface, result)
    if result.each_second_deg:

        def creep(axes: Axes) -> None:
            for side, values in result.each_second_deg.items():
                style = SIDES[side]
                axes.plot(range(len(values)), values, color=style["color"], linestyle=style["linestyle"], label=side)
            axes.set_ylabel("deflection in °, up +")
            axes.set_xlabel("held for, in s")
            legend(axes)

        yield plot(name, f"{surface}: {check}", "Mean of each second while the position was held.", creep)


_RESTED = {
    "play": "Where the trailing edge rested. The gap between the two rows let go is the play; what pushing adds is "
    "what bends.",
    "centring": "Where it came to rest at neutral. The gap between above and below is the hysteresis; how far each row "
    "spreads is how well it repeats.",
}


def _rested(name: str, check: str, surface: str, result: CheckResult) -> Plot:
    rows = [
        (f"{side}, {label}", values, SIDES[side])
        for side, rests in result.rests_deg.items()
        for label, values in rests.items()
        if values
    ]

    def draw(axes: Axes) -> None:
        dots(axes, rows)
        zero(axes, upright=True)
        axes.set_xlabel("deflection in °, up +")

    return plot(name, f"{surface}: {check}", _RESTED.get(check, ""), draw, height_of(len(rows)))


def _tracking(name: str, surface: str, result: CheckResult) -> Plot:
    def draw(axes: Axes) -> None:
        for way, style in zip(("rising", "falling"), PAIR, strict=True):
            steps = steps_of(result, way)
            position_deg = np.array([step.position_deg for step in steps])
            apart_deg = np.array([step.left_minus_right_deg for step in steps])
            reach_deg = COVERAGE_FACTOR * np.array([step.standard_uncertainty_deg for step in steps])
            axes.plot(position_deg, apart_deg, **style, label=f"trailing edge {way}")
            limits = apart_deg - reach_deg, apart_deg + reach_deg
            axes.fill_between(position_deg, *limits, color=style["color"], alpha=0.12, linewidth=0)
        zero(axes)
        axes.set_ylabel("left \N{MINUS SIGN} right in °")
        axes.set_xlabel("deflection in °, up +")
        legend(axes)

    return plot(
        name,
        f"{surface}: left against right, tracking and hysteresis",
        "Left minus right all along the slow sweep. A curve off the line of nothing is a difference in tracking; the "
        "loop between the two curves is the hysteresis of one side against the other. Shaded: 95 %.",
        draw,
        2.6,
    )


def _lengths(everything: list[Course]) -> Iterator[Plot]:
    by_sensor: dict[str, list[float]] = {}
    for course in everything:
        by_sensor.setdefault(course.sensor_id, []).extend(course.length_mg.tolist())
    if not by_sensor:
        return

    def draw(axes: Axes) -> None:
        dots(axes, [(*row, PAIR[index % 2]) for index, row in enumerate(by_sensor.items())])
        zero(axes, upright=True)
        reach = 1.15 * max(1.0, *(abs(value) for values in by_sensor.values() for value in values))
        axes.set_xlim(-reach, reach)
        axes.set_xlabel("|gravity| \N{MINUS SIGN} 1 g in mg")

    yield plot(
        "residuals",
        "Calibration residuals",
        "At every rest that was read: how far the calibrated sensor's gravity is from 1 g. Across a surface, 1 mg is "
        "0.06°. Marks that all lie to one side ask for a new calibration.",
        draw,
        height_of(len(by_sensor)),
    )


def _least_certain(results: Results) -> dict[str, tuple[str, Judgement]]:
    """The least certain neutral and throw, as they were left, with words for where."""
    worst: dict[str, tuple[str, Judgement]] = {}
    for row in sorted(results.rows, key=lambda row: row.as_left.measured.standard_uncertainty_deg):
        if row.as_left.measured.budget_deg:
            kind = "neutral" if row.position == "neutral" else "throw"
            worst[kind] = (f"{row.surface}, {row.position}, {row.as_left.name}", row.as_left)
    return worst


def _budget(results: Results) -> Iterator[Plot]:
    worst = _least_certain(results)
    if not worst:
        return
    largest: dict[str, float] = {}
    for _, judgement in worst.values():
        for source, value in judgement.measured.budget_deg.items():
            largest[source] = max(value, largest.get(source, 0.0))
    sources = sorted(largest, key=lambda source: -largest[source])[:_SOURCES]

    def draw(axes: Axes) -> None:
        for (kind, (_, judgement)), style in zip(worst.items(), PAIR, strict=False):
            values = [judgement.measured.budget_deg.get(source, math.nan) for source in sources]
            rows = [-index for index in range(len(sources))]
            axes.plot(values, rows, **{**style, "linestyle": "none"}, label=kind)
        label_rows(axes, sources)
        axes.set_xlim(left=0)
        axes.set_xlabel("standard uncertainty in °")
        legend(axes)

    readings = "; ".join(
        f"{kind}: {what}, {judgement.measured.standard_uncertainty_deg:.3f}° in all"
        for kind, (what, judgement) in worst.items()
    )
    yield plot(
        "budget",
        "Where the uncertainty comes from",
        f"The least certain readings, source by source. {readings}. They add as squares; ± is {COVERAGE_FACTOR} "
        "times the sum.",
        draw,
        height_of(len(sources)),
    )
