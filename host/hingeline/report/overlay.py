"""The plots of a comparison: two sessions over each other."""

from __future__ import annotations

from matplotlib.axes import Axes

from hingeline.checks.results import CheckResult
from hingeline.report.compare import Change, Comparison
from hingeline.report.drawing import PAIR, Plot, height_of, label_rows, legend, plot, steps_of, zero


def overlays(comparison: Comparison) -> tuple[Plot, ...]:
    """All plots that two sessions have the data for."""
    angles = [change for change in comparison.changes if change.unit == "deg"]
    drawn = [_moves(comparison, angles)] if angles else []
    for index, (key, new) in enumerate(comparison.new.checks.items()):
        old = comparison.old.checks.get(key)
        if old is not None and old.steps and new.steps:
            drawn.append(_sweeps(f"sweep-{index}", comparison, old, new))
    return tuple(drawn)


def _moves(comparison: Comparison, angles: list[Change]) -> Plot:
    def draw(axes: Axes) -> None:
        rows = [-index for index in range(len(angles))]
        new = [change.change for change in angles]
        axes.plot([0] * len(rows), rows, **{**PAIR[1], "linestyle": "none"}, label=comparison.dates[0])
        axes.errorbar(
            new,
            rows,
            xerr=[change.reach_95 for change in angles],
            **{**PAIR[0], "linestyle": "none"},
            capsize=2,
            label=comparison.dates[1],
        )
        zero(axes, upright=True)
        label_rows(axes, [f"{change.surface}, {change.position}, {change.name}" for change in angles])
        axes.set_xlabel("change in °, trailing edge up +")
        legend(axes)

    return plot(
        "moves",
        "Change of every angle",
        "From the old session, on the line of nothing, to the new one. A bar that does not reach that line is a change "
        "beyond the uncertainty.",
        draw,
        height_of(len(angles)),
    )


def _sweeps(name: str, comparison: Comparison, old: CheckResult, new: CheckResult) -> Plot:
    def draw(axes: Axes) -> None:
        for date, result, style in zip(comparison.dates, (old, new), PAIR[::-1], strict=True):
            for way in ("rising", "falling"):
                steps = steps_of(result, way)
                axes.plot(
                    [step.position_deg for step in steps],
                    [step.left_minus_right_deg for step in steps],
                    **style,
                    label=date if way == "rising" else None,
                )
        zero(axes)
        axes.set_ylabel("left \N{MINUS SIGN} right in °")
        axes.set_xlabel("deflection in °, up +")
        legend(axes)

    return plot(
        name,
        f"{new.surface}: tracking, old and new",
        "Left minus right along the sweep, both ways.",
        draw,
        2.6,
    )
