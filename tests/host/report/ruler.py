"""A drawing of a page, read off as with a ruler: by the numbers that stand beside its axes."""

import re
from typing import NamedTuple
from xml.etree import ElementTree

import numpy as np

from hingeline.report.drawing import Plot

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "http://www.w3.org/1999/xlink"
Points = list[tuple[float, float]]


class Stroke(NamedTuple):
    """What is drawn in one go: the points of its line and its marks, both as read off; its colour and style."""

    colour: str
    line: Points
    marks: Points
    style: dict[str, str]


class Drawing:
    """A plot as one reads it.

    Attributes
    ----------
    strokes, bars, bands
        Lines and marks; the bars across marks, as from and to; the outlines of shaded bands.
    rows
        What stands beside the upright axis, from the top, where that is words: the height of each is read off as 0, -1
        and so on, down to the last.
    labels
        Words over the drawing, with the place, in points, where they end.
    legend
        The words beside the drawing, each with the colour of its sign.
    span, height
        From where to where the axes reach.
    frames
        What is drawn in straight lines about the curves: axes, and whatever fills or frames anything.
    tick_marks
        Short lines at the numbers.
    box_pt
        Width and height.
    """

    def __init__(self, plot: Plot) -> None:
        svg = plot.svg.replace("<svg ", f'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="{XLINK}" ', 1)
        root = ElementTree.fromstring(svg)
        self.box_pt = tuple(map(float, root.get("viewBox").split()[2:]))
        parts = {part.get("id").rpartition("-")[2]: part for part in root.iter(f"{SVG}g") if part.get("id")}
        self.rows: list[str] = []
        self._x = self._scale(_ticks(parts["matplotlib.axis_1"], "x"))
        self._y = self._scale(_ticks(parts["matplotlib.axis_2"], "y"))
        axes = list(parts["axes_1"])
        frame = self._points(next(parts["patch_2"].iter(f"{SVG}path")))
        self.span, self.height = ((min(ends), max(ends)) for ends in zip(*frame, strict=True))
        self.frames = [
            path
            for name, part in parts.items()
            if name.startswith("patch_")
            for path in part.iter(f"{SVG}path")
            if set(re.findall(r"(?:fill|stroke): ([^;]+)", path.get("style"))) != {"none"}
        ]
        self.tick_marks = [use for name, part in parts.items() if "tick_" in name for use in part.iter(f"{SVG}use")]
        self.strokes = [self._stroke(part) for part in axes if "-line2d_" in part.get("id")]
        self.bars = [self._points(path) for part in axes if "-LineCollection_" in part.get("id") for path in part]
        self.bands = [self._band(part) for part in axes if "FillBetween" in part.get("id")]
        texts = [part.find(f"{SVG}text") for part in axes if "-text_" in part.get("id")]
        self.labels = [(text.text, (float(text.get("x")), float(text.get("y")))) for text in texts]
        self.legend = _legend(parts["legend_1"]) if "legend_1" in parts else []

    def of(self, colour: str) -> list[Stroke]:
        """The strokes of a colour, in the order in which they are drawn."""
        return [stroke for stroke in self.strokes if stroke.colour == colour.lower()]

    def at(self, x_pt: float, y_pt: float) -> tuple[float, float]:
        """What a place of the drawing stands for."""
        return self._x(x_pt), self._y(y_pt)

    def _scale(self, ticks: list[tuple[str, float]]):
        try:
            values = [float(text.replace("\N{MINUS SIGN}", "-")) for text, _ in ticks]
        except ValueError:
            values = [-row for row in range(len(ticks))]
            self.rows = [text for text, _ in ticks]
        if len(ticks) == 1:
            return lambda at_pt: values[0] + (ticks[0][1] - at_pt)
        slope, offset = np.polyfit([at_pt for _, at_pt in ticks], values, 1)
        return lambda at_pt: slope * at_pt + offset

    def _points(self, path: ElementTree.Element, dx: float = 0.0, dy: float = 0.0) -> Points:
        places = re.findall(r"[ML] (\S+) (\S+)", path.get("d"))
        return [self.at(float(x) + dx, float(y) + dy) for x, y in places]

    def _stroke(self, part: ElementTree.Element) -> Stroke:
        path, uses = part.find(f"{SVG}path"), list(part.iter(f"{SVG}use"))
        style = _style(path if path is not None else uses[0])
        marks = [self.at(float(use.get("x")), float(use.get("y"))) for use in uses]
        return Stroke(style["stroke"], [] if path is None else self._points(path), marks, style)

    def _band(self, part: ElementTree.Element) -> Points:
        (use,) = part.iter(f"{SVG}use")
        return self._points(next(part.iter(f"{SVG}path")), float(use.get("x")), float(use.get("y")))


def _ticks(axis: ElementTree.Element, way: str) -> list[tuple[str, float]]:
    """What stands at each tick of an axis, and where."""
    ticks = [part for part in axis if f"-{way}tick_" in part.get("id")]
    texts = [next(tick.iter(f"{SVG}text")) for tick in ticks]
    if way == "x":
        return [(text.text, float(text.get("x"))) for text in texts]
    heights = [re.findall(r"[ML] \S+ (\S+)", next(tick.iter(f"{SVG}path")).get("d"))[0] for tick in ticks]
    return [(text.text, float(height)) for text, height in zip(texts, heights, strict=True)]


def _legend(part: ElementTree.Element) -> list[tuple[str, str]]:
    """Each text, with the colour of what is drawn before it."""
    legend, colour = [], ""
    for element in part.iter():
        if element.tag == f"{SVG}text":
            legend.append((element.text, colour))
        elif "stroke" in _style(element) and element.tag in (f"{SVG}path", f"{SVG}use"):
            colour = _style(element)["stroke"]
    return legend


def _style(part: ElementTree.Element) -> dict[str, str]:
    return dict(re.findall(r"([\w-]+): ([^;]+)", part.get("style", "")))
