"""The look of the plots, and their way into a page: the same figures give the same bytes."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from hingeline.checks.results import CheckResult, Step
from hingeline.units import BLUE, ORANGE

INK, QUIET, RULE = "#1A1A1A", "#595959", "#BFBFBF"

PAIR: tuple[dict[str, Any], dict[str, Any]] = (
    {"color": BLUE, "linestyle": "-", "marker": "o", "markerfacecolor": BLUE},
    {"color": ORANGE, "linestyle": (0, (4, 1.6)), "marker": "s", "markerfacecolor": "white"},
)
"""The two hands of every plot: left and right, rising and falling, old and new."""
SIDES = {"left": PAIR[0], "right": PAIR[1], "middle": {**PAIR[0], "color": INK, "markerfacecolor": INK}}

WIDTH_IN = 7.0
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


def plot(name: str, title: str, caption: str, draw: Callable[[Axes], None], height_in: float = 2.2) -> Plot:
    """What `draw` puts on a pair of axes; `name` keeps its ids apart from those of other plots."""
    with mpl.rc_context({**_STYLE, "svg.hashsalt": name}):
        figure = Figure(figsize=(WIDTH_IN, height_in), layout="constrained")
        axes = figure.add_subplot()
        axes.grid(visible=True, axis="y")
        axes.tick_params(length=0)
        draw(axes)
        drawn = io.StringIO()
        figure.savefig(drawn, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return Plot(title, caption, _inline(drawn.getvalue(), name))


def dots(axes: Axes, rows: Sequence[tuple[str, Sequence[float], dict[str, Any]]]) -> None:
    """Draw rows of marks, each with its label, values and style."""
    for index, (_, values, style) in enumerate(rows):
        axes.plot(values, [-index] * len(values), **{**style, "linestyle": "none"}, alpha=0.8)
    label_rows(axes, [label for label, _, _ in rows])


def label_rows(axes: Axes, labels: Sequence[str]) -> None:
    """Write beside rows of marks what each is of; they are at 0, -1 ..., so the first one is on top."""
    axes.set_yticks([-index for index in range(len(labels))], labels)
    axes.set_ylim(-len(labels) + 0.4, 0.6)
    axes.tick_params(axis="y", labelcolor=INK)


def height_of(rows: int) -> float:
    """Height in inches of a plot of so many rows of marks."""
    return 0.75 + 0.24 * rows


def steps_of(result: CheckResult, way: str) -> list[Step]:
    """The steps of a sweep that went one way, along the deflection."""
    steps = (step for step in result.steps if step.way == way)
    return sorted(steps, key=lambda step: step.position_deg)


def zero(axes: Axes, *, upright: bool = False) -> None:
    """Draw the line of nothing."""
    (axes.axvline if upright else axes.axhline)(0, color=QUIET, linewidth=0.8, zorder=1)


def legend(axes: Axes) -> None:
    """Say beside the axes which mark is which."""
    axes.legend(frameon=False, loc="upper left", bbox_to_anchor=(1.0, 1.0), borderaxespad=0.2, handlelength=2.2)


def _inline(drawn: str, name: str) -> str:
    """A drawing as an element of a page: no prologue, no metadata, ids of its own."""
    element = drawn[drawn.index("<svg") :]
    element = re.sub(r"<metadata>.*?</metadata>\s*", "", element, flags=re.DOTALL)
    element = re.sub(r'(\bid="|xlink:href="#|url\(#)', rf"\g<1>{name}-", element)
    opening = r'<svg viewBox="\1" aria-hidden="true">'
    return re.sub(r'<svg .*?viewBox="([^"]*)"[^>]*>', opening, element, count=1, flags=re.DOTALL).strip()
