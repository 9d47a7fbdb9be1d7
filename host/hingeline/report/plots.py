"""The plots of a session, each only where its runs have the data."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes

from hingeline.checks.results import CheckResult
from hingeline.report.course import Course, courses
from hingeline.report.drawing import APART, DEFLECTION, INK, PAIR, QUIET, SIDES, WAYS, Plot, dots, marks, plot, steps_of
from hingeline.report.results import Results, Row
from hingeline_calibration.budget import COVERAGE_FACTOR

_LETTER_PT, _LINE_PT, _AXES_PT = 5.2, 11.0, 270.0
"""Of the labels over a course: width of a letter, height of a line, and what the axes have of the plot's width."""
_SOURCES = 8
"""So many of the largest sources of uncertainty are shown."""
_RESTED = {
    "play": "Where the trailing edge rested. The gap between the two rows let go is the play; what pushing adds is "
    "flex.",
    "centring": "Where it came to rest at neutral. The gap between above and below is the hysteresis; how far each row "
    "spreads is how well it repeats.",
}


def plots(results: Results) -> tuple[Plot, ...]:
    """All plots that a session has the data for."""
    by_run = [list(courses(recorded)) for recorded in results.runs]
    latest = {course.surface: of_run for of_run in by_run for course in of_run}
    drawn = [
        _course(f"course-{index}", [course for course in of_run if course.surface == surface])
        for index, (surface, of_run) in enumerate(latest.items())
    ]
    for index, ((check, surface), result) in enumerate(results.checks.items()):
        drawn += _check(f"check-{index}", f"{surface}: {check}", result)
    drawn += _lengths([course for of_run in by_run for course in of_run])
    drawn += _budget(results)
    return tuple(drawn)


def _course(name: str, both: list[Course]) -> Plot:
    first = both[0]
    labels = label_lines(first)

    def draw(axes: Axes) -> None:
        for course in both:
            style = SIDES[course.side]
            color = style["color"]
            axes.plot(course.time_s, course.deflection_deg, color=color, linewidth=0.6, alpha=0.6)
            steady_deg = np.where(course.steady, course.deflection_deg, np.nan)
            axes.plot(course.time_s, steady_deg, color=color, linestyle=style["linestyle"])
            for rest in course.plateaus:
                span_s = rest.start_s, rest.time_s
                axes.plot(span_s, (rest.deflection_deg,) * 2, color=color, linewidth=4, alpha=0.35)
            rests = [(rest.time_s, rest.deflection_deg) for rest in course.plateaus]
            axes.plot(*zip(*rests, strict=True), **marks(style), label=course.side)
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
        axes.margins(x=0.02)

    return plot(
        name,
        f"{first.surface}: deflection over time",
        "All that the sensors sent; thin where the surface moved too fast to be measured, broad at the rests that were "
        f"read. The last {first.command} of the session.",
        draw,
        x="time in s",
        y=DEFLECTION,
        height_in=1.9 + _LINE_PT * max(labels) / 72,
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


def _check(name: str, title: str, result: CheckResult) -> Iterator[Plot]:
    if result.steps:
        yield _tracking(name, result)
    if result.rests_deg:
        rows = {
            f"{side}, {label}": (values, SIDES[side])
            for side, rests in result.rests_deg.items()
            for label, values in rests.items()
            if values
        }
        caption = _RESTED.get(result.check, "")
        yield plot(
            name, title, caption, lambda axes: dots(axes, rows.values()), x=DEFLECTION, rows=list(rows), zero=True
        )
    if result.each_second_deg:

        def creep(axes: Axes) -> None:
            for side, values in result.each_second_deg.items():
                axes.plot(range(len(values)), values, **{**SIDES[side], "marker": ""}, label=side)

        caption = "Mean of each second while the position was held."
        yield plot(name, title, caption, creep, x="held for, in s", y=DEFLECTION)


def _tracking(name: str, result: CheckResult) -> Plot:
    def draw(axes: Axes) -> None:
        for way, style in zip(WAYS, PAIR, strict=True):
            position_deg, apart_deg, reach_deg = steps_of(result, way)
            axes.plot(position_deg, apart_deg, **style, label=f"trailing edge {way}")
            limits = apart_deg - reach_deg, apart_deg + reach_deg
            axes.fill_between(position_deg, *limits, color=style["color"], alpha=0.12, linewidth=0)

    return plot(
        name,
        f"{result.surface}: left against right, tracking and hysteresis",
        "Left minus right all along the slow sweep. A curve off the zero line is a difference in tracking; the "
        "loop between the two curves is the hysteresis of one side against the other. Shaded: 95 %.",
        draw,
        x=DEFLECTION,
        y=APART,
        zero=True,
        height_in=2.6,
    )


def _lengths(everything: list[Course]) -> Iterator[Plot]:
    by_sensor: dict[str, list[float]] = {}
    for course in everything:
        by_sensor.setdefault(course.sensor_id, []).extend(course.length_mg.tolist())
    if not by_sensor:
        return

    def draw(axes: Axes) -> None:
        dots(axes, ((values, PAIR[index % 2]) for index, values in enumerate(by_sensor.values())))
        reach = 1.15 * max(1.0, *(abs(value) for values in by_sensor.values() for value in values))
        axes.set_xlim(-reach, reach)

    yield plot(
        "residuals",
        "Calibration residuals",
        "At every rest that was read: how far the calibrated sensor's gravity is from 1 g. Across a surface, 1 mg is "
        "0.06°. Marks that all lie to one side ask for a new calibration.",
        draw,
        x="|gravity| \N{MINUS SIGN} 1 g in mg",
        rows=list(by_sensor),
        zero=True,
    )


def _budget(results: Results) -> Iterator[Plot]:
    """Of the least certain neutral and throw, as they were left."""
    worst: dict[str, Row] = {}
    for row in sorted(results.rows, key=lambda row: row.as_left.measured.standard_uncertainty_deg):
        if row.as_left.measured.budget_deg:
            worst["neutral" if row.position == "neutral" else "throw"] = row
    if not worst:
        return
    budgets = {kind: row.as_left.measured.budget_deg for kind, row in worst.items()}
    largest = {
        source: max(budget.get(source, 0.0) for budget in budgets.values())
        for each in budgets.values()
        for source in each
    }
    sources = sorted(largest, key=lambda source: -largest[source])[:_SOURCES]

    def draw(axes: Axes) -> None:
        for (kind, budget_deg), style in zip(budgets.items(), PAIR, strict=False):
            values = [budget_deg.get(source, math.nan) for source in sources]
            axes.plot(values, [-index for index in range(len(sources))], **marks(style), label=kind)
        axes.set_xlim(left=0)

    readings = "; ".join(
        f"{kind}: {', '.join(row.key)}, {row.as_left.measured.standard_uncertainty_deg:.3f}° in all"
        for kind, row in worst.items()
    )
    yield plot(
        "budget",
        "Where the uncertainty comes from",
        f"The least certain readings, source by source. {readings}. They add as squares; ± is {COVERAGE_FACTOR} "
        "times the sum.",
        draw,
        x="standard uncertainty in °",
        rows=sources,
    )
