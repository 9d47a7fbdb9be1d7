"""Draws the wiring diagram of every build as SVG: `python schematics/draw.py`. The same data gives the same bytes."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Literal

import rules
import schemdraw
from schemdraw import elements as elm
from wiring import Build, Module, Pin, builds

DIAGRAMS = Path(__file__).parent / "diagrams"

COLOURS = {"3V3": "#D55E00", "GND": "#000000", "SDA": "#0072B2", "SCL": "#CC79A7"}
"""Okabe-Ito colours, which colour-blind people can distinguish; both ends of every wire have a name as well."""
PITCH = 0.9
RAIL = 0.55
BOARD_WIDTH = 4.0
MODULE_WIDTH = 4.8
GAP_ROWS = 2
LETTER = 0.14
"""Width of a letter at the board's pins: rails begin beyond the end of the longest label."""
BRIDGE = 0.4
NOTES = (
    "A dot joins wires; without one they cross. 3.3 V only, never the 5 V or VBUS pin.",
    "A bridge beside a module is soldered at the module: four wires lead to it.",
)


def svg(build: Build) -> bytes:
    """Draw the diagram of a build."""
    schemdraw.use("svg")
    schemdraw.svgconfig.text = "text"
    nets = list(dict.fromkeys(pin.net for pin in build.pins))
    lead = max(len(_place(pin)) for pin in build.pins) * LETTER + RAIL
    rails = {net: BOARD_WIDTH + lead + RAIL * i for i, net in enumerate(nets)}
    left = max(rails.values()) + RAIL + 2 * BRIDGE
    ends: dict[str, list[tuple[float, float]]] = {net: [] for net in nets}
    with schemdraw.Drawing(show=False, fontsize=12, font="sans-serif") as drawing:
        row = 0.0
        for module in build.modules:
            _box(left, row, MODULE_WIDTH, len(module.pins), f"{module.label}: {module.title}")
            place = f"bus {module.bus}, 0x{module.address:02X}"
            _label((left + MODULE_WIDTH - 0.25, _y(row + len(module.pins) / 2 - 0.5)), place, "right", 10)
            for i, pin in enumerate(module.pins):
                _label((left + 0.15, _y(row + i)), pin.label, "left")
            for net, (first_y, *others) in _rows(module, row).items():
                ends[net].append((left, first_y))
                _bridge(left, first_y, others, net)
            row += len(module.pins) + GAP_ROWS
        rows = row - GAP_ROWS
        # Half a row off the modules' grid, so that no wire runs along another.
        first = max(0, (rows - len(build.pins)) // 2) + 0.5
        _box(0, first, BOARD_WIDTH, len(build.pins), build.title)
        for i, pin in enumerate(build.pins):
            y = _y(first + i)
            _label((BOARD_WIDTH - 0.25, y), pin.label, "right")
            _label((BOARD_WIDTH + 0.1, y + 0.2), _place(pin), "left", 9)
            ends[pin.net].append((BOARD_WIDTH, y))
        for net in nets:
            _wire(rails[net], ends[net], COLOURS[net[:3]])
        for i, note in enumerate(NOTES):
            _label((0, _y(max(rows, first + len(build.pins)) + 0.5 * (i + 1))), note, "left", 9)
    return bytes(drawing.get_imagedata("svg"))


def _place(pin: Pin) -> str:
    return f"pin {pin.at}: {pin.net}"


def _rows(module: Module, row: float) -> dict[str, list[float]]:
    """Where a module's pins are, by net: a wire leads to the first of each net, the others are bridged to it."""
    ys: dict[str, list[float]] = {}
    for i, pin in enumerate(module.pins):
        ys.setdefault(pin.net, []).append(_y(row + i))
    return ys


def _y(row: float) -> float:
    return -(row + 0.5) * PITCH


def _box(x: float, row: float, width: float, rows: int, title: str) -> None:
    top = -row * PITCH
    elm.Rect(corner1=(x, top), corner2=(x + width, top - rows * PITCH)).at((0, 0)).linewidth(2)
    _label((x, top + 0.25), title, "left")


def _label(at: tuple[float, float], text: str, align: Literal["left", "right"], size: float = 12) -> None:
    elm.Label().at((at[0], at[1] - 0.08)).label(text, loc="center", halign=align, valign="center", fontsize=size)


def _wire(rail: float, points: list[tuple[float, float]], colour: str) -> None:
    ys = [y for _, y in points]
    elm.Line().at((rail, max(ys))).to((rail, min(ys))).color(colour).linewidth(2)
    for x, y in points:
        elm.Line().at((x, y)).to((rail, y)).color(colour).linewidth(2)
        if min(ys) < y < max(ys):
            elm.Dot(radius=0.08).at((rail, y)).color(colour)


def _bridge(left: float, first_y: float, others: list[float], net: str) -> None:
    """Bridge pins at the module to the one with the wire; 3V3 farther out than GND, so that both are visible."""
    x = left - BRIDGE * (2 if net == "3V3" else 1)
    for last_y in others:
        elm.Line().at((x, first_y)).to((x, last_y)).color(COLOURS[net]).linewidth(2)
        elm.Line().at((x, last_y)).to((left, last_y)).color(COLOURS[net]).linewidth(2)
        elm.Dot(radius=0.08).at((x, first_y)).color(COLOURS[net])


def main(folder: Path = DIAGRAMS) -> None:
    """Write every diagram into a folder, `diagrams` by default; refuse builds that break a rule."""
    problems = [problem for build in builds() for problem in rules.check(build)]
    if problems:
        sys.exit("\n".join(problems))
    for build in builds():
        (folder / f"{build.name}.svg").write_bytes(svg(build))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
