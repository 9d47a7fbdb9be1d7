"""The plots of a comparison: session by session, and the first and the last over each other."""

from __future__ import annotations

from matplotlib.axes import Axes

from hingeline.checks.results import CheckResult
from hingeline.report.compare import Change, Comparison
from hingeline.report.drawing import APART, DEFLECTION, PAIR, WAYS, Plot, marks, plot, steps_of
from hingeline.report.seasons import season_plots


def overlays(comparison: Comparison) -> tuple[Plot, ...]:
    """All plots that the sessions have the data for."""
    angles = [change for change in comparison.changes if change.unit == "deg"]
    drawn = list(season_plots(comparison))
    drawn += [_moves(comparison, angles)] if angles else []
    for index, (key, new) in enumerate(comparison.new.checks.items()):
        old = comparison.old.checks.get(key)
        if old is not None and old.steps and new.steps:
            drawn.append(_sweeps(f"sweep-{index}", comparison, old, new))
    return tuple(drawn)


def _moves(comparison: Comparison, angles: list[Change]) -> Plot:
    def draw(axes: Axes) -> None:
        rows = [-index for index in range(len(angles))]
        new, reach = [change.change for change in angles], [change.reach_95 for change in angles]
        axes.plot([0] * len(rows), rows, **marks(PAIR[1]), label=comparison.heads[0])
        axes.errorbar(new, rows, xerr=reach, **marks(PAIR[0]), capsize=2, label=comparison.heads[-1])

    return plot(
        "moves",
        "Change of every angle",
        f"From {comparison.heads[0]}, on the zero line, to {comparison.heads[-1]}. A bar that does not reach that line "
        "is a change beyond the uncertainty.",
        draw,
        x="change in °, trailing edge up +",
        rows=[f"{change.surface}, {change.position}, {change.name}" for change in angles],
        zero=True,
    )


def _sweeps(name: str, comparison: Comparison, old: CheckResult, new: CheckResult) -> Plot:
    def draw(axes: Axes) -> None:
        for date, result, style in zip(
            comparison.heads[:: len(comparison.heads) - 1], (old, new), PAIR[::-1], strict=True
        ):
            for way, label in zip(WAYS, (date, None), strict=True):
                position_deg, apart_deg, _ = steps_of(result, way)
                axes.plot(position_deg, apart_deg, **style, label=label)

    caption = "Left minus right along the sweep, both ways."
    title = f"{new.surface}: tracking, first and last"
    return plot(name, title, caption, draw, x=DEFLECTION, y=APART, zero=True, height_in=2.6)
