"""The look of the plots, and their way into a page: the same figures give the same bytes."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hingeline.checks.results import CheckResult
from hingeline.measure.tracks import Floats
from hingeline.units import BLUE, ORANGE
from hingeline_calibration.budget import COVERAGE_FACTOR

INK, QUIET, RULE = "#1A1A1A", "#595959", "#BFBFBF"
PAIR: tuple[dict[str, Any], dict[str, Any]] = (
    {"color": BLUE, "linestyle": "-", "marker": "o", "markerfacecolor": BLUE},
    {"color": ORANGE, "linestyle": (0, (4, 1.6)), "marker": "s", "markerfacecolor": "white"},
)
"""The two hands of every plot: left and right, rising and falling, old and new."""
SIDES = {"left": PAIR[0], "right": PAIR[1], "middle": {**PAIR[0], "color": INK, "markerfacecolor": INK}}
WAYS = ("rising", "falling")
DEFLECTION, APART = "deflection in °, up +", "left \N{MINUS SIGN} right in °"
_WIDTH_IN = 5.2
_STYLE: dict[Any, Any] = {
    "font.family": "DejaVu Sans",  # comes with matplotlib: widths are the same everywhere
    "font.size": 8.5,
    "text.parse_math": False,
    "text.color": INK,
    "axes.edgecolor": RULE,
    "axes.labelcolor": QUIET,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.8,
    "axes.axisbelow": True,
    "grid.color": "#E6E6E6",
    "grid.linewidth": 0.7,
    "xtick.color": RULE,
    "ytick.color": RULE,
    "xtick.labelcolor": QUIET,
    "ytick.labelcolor": QUIET,
    "lines.linewidth": 1.3,
    "lines.markersize": 5,
    "lines.markeredgewidth": 1.2,
    "path.simplify_threshold": 0.3,
    "svg.fonttype": "none",
}


class Plot(NamedTuple):
    """A drawing, an SVG element ready for a page, and the words above and below it, not yet escaped."""

    title: str
    caption: str
    svg: str


def plot(
    name: str,
    title: str,
    caption: str,
    draw: Callable[[Axes], object],
    *,
    x: str,
    y: str = "",
    rows: Sequence[str] = (),
    zero: bool = False,
    height_in: float = 2.2,
) -> Plot:
    """What `draw` puts on a pair of axes; `name` keeps its ids apart from those of other plots.

    Parameters
    ----------
    x, y
        What stands beside the axes.
    rows
        Of a plot of rows of marks, what each is of: they are at 0, -1 ..., so the first one is on top.
    zero
        Draws the zero line: upright across rows.
    """

    def fill(figure: Figure) -> None:
        axes = figure.add_subplot(xlabel=x, ylabel=y)
        _dress(axes)
        draw(axes)
        if zero:
            (axes.axvline if rows else axes.axhline)(0, color=QUIET, linewidth=0.8, zorder=1)
        if rows:
            axes.set_yticks([-index for index in range(len(rows))], rows)
            axes.set_ylim(-len(rows) + 0.4, 0.6)
            axes.tick_params(axis="y", labelcolor=INK)
        _add_legend(axes)

    return Plot(title, caption, _drawn(name, 0.75 + 0.24 * len(rows) if rows else height_in, fill))


def panels(name: str, title: str, caption: str, drawn: Mapping[str, Callable[[Axes], object]]) -> Plot:
    """Small plots beside each other, by what stands above each; they share the legend of the last."""

    def fill(figure: Figure) -> None:
        for number, (head, draw) in enumerate(drawn.items(), start=1):
            axes = figure.add_subplot(1, len(drawn), number)
            axes.set_title(head, fontsize=8.5, color=INK, loc="left")
            _dress(axes)
            draw(axes)
        _add_legend(axes)

    return Plot(title, caption, _drawn(name, 2.0, fill))


def _dress(axes: Axes) -> None:
    axes.grid(visible=True, axis="y")
    axes.tick_params(length=0)


def _add_legend(axes: Axes) -> None:
    if any(axes.get_legend_handles_labels()):
        beside: dict[str, Any] = {"loc": "upper left", "bbox_to_anchor": (1.0, 1.0), "borderaxespad": 0.2}
        axes.legend(frameon=False, handlelength=2.2, **beside)


def _drawn(name: str, height_in: float, fill: Callable[[Figure], None]) -> str:
    """What is filled into a figure, as an element of a page."""
    with mpl.rc_context({**_STYLE, "svg.hashsalt": name}):
        figure = Figure(figsize=(_WIDTH_IN, height_in), layout="constrained")
        fill(figure)
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return _inline(drawn.getvalue(), name)


def marks(style: dict[str, Any]) -> dict[str, Any]:
    """The style without its line."""
    return {**style, "linestyle": "none"}


def dots(axes: Axes, rows: Iterable[tuple[Sequence[float], dict[str, Any]]]) -> None:
    """Draw rows of marks, each with its values and style."""
    for index, (values, style) in enumerate(rows):
        axes.plot(values, [-index] * len(values), **marks(style), alpha=0.8)


def steps_of(result: CheckResult, way: str) -> tuple[Floats, Floats, Floats]:
    """The steps of a sweep that went one way, along the deflection: that, left minus right and its 95 % reach, in °."""
    steps = sorted((step for step in result.steps if step.way == way), key=lambda step: step.position_deg)
    return (
        np.array([step.position_deg for step in steps]),
        np.array([step.left_minus_right_deg for step in steps]),
        COVERAGE_FACTOR * np.array([step.standard_uncertainty_deg for step in steps]),
    )


def _inline(drawn: str, name: str) -> str:
    """A drawing as an element of a page: no prologue, no metadata, ids of its own."""
    element = drawn[drawn.index("<svg") :]
    element = re.sub(r"<metadata>.*?</metadata>\s*", "", element, flags=re.DOTALL)
    element = re.sub(r'(\bid="|xlink:href="#|url\(#)', rf"\g<1>{name}-", element)
    opening = r'<svg viewBox="\1" aria-hidden="true">'
    return re.sub(r'<svg .*?viewBox="([^"]*)"[^>]*>', opening, element, flags=re.DOTALL).strip()
