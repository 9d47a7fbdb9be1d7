"""Draws boards with two sensors, and each sensor module, as SVG: `python schematics/draw.py`.

A board is drawn as seen from above, each pin where it sits. The same data gives the same bytes.
"""

from __future__ import annotations

import itertools
import sys
from pathlib import Path
from typing import Any, Literal

import rules
import schemdraw
from schemdraw import elements as elm
from wiring import Build, Module, builds, drawn_builds, modules

DIAGRAMS = Path(__file__).parent / "diagrams"

COLOURS = {"3V3": "#D55E00", "GND": "#000000", "SDA": "#0072B2", "SCL": "#CC79A7"}
"""Okabe-Ito colours, which colour-blind people can distinguish; both ends of every wire have a name as well."""
UNUSED = "#888888"
PITCH = 0.9
BOARD_PITCH = 0.45
RAIL = 0.45
BOARD_WIDTH = 4.4
MODULE_WIDTH = 4.0
GAP_ROWS = 2
LEAD = 1.0
"""From a pin to the first upright wire: a text is between."""
STUB = 0.3
BRIDGE = 0.4
NOTES = (
    "A dot joins wires; without one they cross. 3.3 V only, never the 5 V, VBUS or VSYS pin.",
    "A module has more pads than four: its own drawing shows what they are bridged to.",
)

Point = tuple[float, float]
Align = Literal["left", "right", "center"]


def svg(build: Build) -> bytes:
    """Draw a board with its modules."""
    nets = list(dict.fromkeys(pin.net for pin in build.pins))
    with _drawing() as drawing:
        pins, bottom = _draw_board(build)
        first_rail = BOARD_WIDTH + 2.2
        rails = {net: first_rail + RAIL * i for i, net in enumerate(nets)}
        ends: dict[str, list[Point]] = {net: [] for net in nets}
        below = bottom + BOARD_PITCH / 2  # half a step off the modules' rows: no wire runs along another
        for k, (net, (x, y), side) in enumerate(sorted(pins, key=lambda pin: (pin[2] != "left", -pin[1][1]))):
            if side == "right":
                ends[net].append((x, y))
                continue
            # Wires of the left side and of the end lead round the board: the upper ones farther out.
            below -= BOARD_PITCH
            out = x if side == "bottom" else x - LEAD - STUB * (sum(pin[2] == "left" for pin in pins) - k)
            _path([(x, y), (out, y), (out, below)], COLOURS[net[:3]])
            ends[net].append((out, below))
        _draw_modules(build.modules, rails[nets[-1]] + 2 * RAIL, ends)
        for net in nets:
            _wire(rails[net], ends[net], COLOURS[net[:3]])
        lowest = min([below, *[y - PITCH / 2 for points in ends.values() for _, y in points]])
        for i, note in enumerate(NOTES):
            _label((0, lowest - 0.45 * (i + 1)), note, "left", 9)
    return bytes(drawing.get_imagedata("svg"))


def module_svg(part: dict[str, Any]) -> bytes:
    """Draw the pads of a module: which wires lead to it, and what is bridged for each of its addresses."""
    addresses = [(f"0x{int(address):02X}", net) for address, net in part["addresses"].items()]
    with _drawing() as drawing:
        for column, (address, net) in enumerate(addresses):
            left = column * (MODULE_WIDTH + 4.2) + 2.4
            _box(left, 0, MODULE_WIDTH, len(part["pins"]), str(part["title"]))
            _label((left + MODULE_WIDTH - 0.2, _y(len(part["pins"]) / 2 - 0.5)), f"address {address}", "right", 9)
            firsts: dict[str, float] = {}
            for i, (label, pad_net) in enumerate(part["pins"].items()):
                joined = net if pad_net == "address" else pad_net
                _label((left + 0.15, _y(i)), label, "left")
                if joined in firsts:
                    _bridge(left, firsts[joined], _y(i), joined)
                    continue
                firsts[joined] = _y(i)
                _path([(left, _y(i)), (left - 4 * BRIDGE, _y(i))], COLOURS[joined])
                _label((left - 4.3 * BRIDGE, _y(i)), joined, "right", 11)
        _label(
            (0, _y(len(part["pins"]) + 0.2)),
            "Four wires lead to the board; bridges are soldered at the module.",
            "left",
            9,
        )
    return bytes(drawing.get_imagedata("svg"))


def _drawing() -> schemdraw.Drawing:
    schemdraw.use("svg")
    schemdraw.svgconfig.text = "text"
    return schemdraw.Drawing(show=False, fontsize=12, font="sans-serif")


def _draw_board(build: Build) -> tuple[list[tuple[str, Point, str]], float]:
    """Draw the board and all its pins; give net, place and side of those in use, and where the board ends below."""
    board = build.board
    used = {pin.at: pin.net for pin in build.pins}
    rows = {side: [pin for pin in board.pins if pin.side == side] for side in ("left", "right", "bottom")}
    height = (max(len(rows["left"]), len(rows["right"])) + (2 if rows["bottom"] else 1)) * BOARD_PITCH
    elm.Rect(corner1=(0, 0), corner2=(BOARD_WIDTH, -height)).at((0, 0)).theta(0).linewidth(2)
    _label((BOARD_WIDTH / 2, 0.75), board.title, "center")
    _label((BOARD_WIDTH / 2, 0.35), "as seen from above", "center", 9)
    usb_y = -0.2 if board.usb == "top" else -height + 0.2
    middle = BOARD_WIDTH / 2
    elm.Rect(corner1=(middle - 0.6, usb_y + 0.2), corner2=(middle + 0.6, usb_y - 0.2)).at((0, 0)).theta(0)
    _label((BOARD_WIDTH / 2, usb_y), "USB", "center", 9)
    places = []
    for side, pins in rows.items():
        for i, pin in enumerate(pins):
            y = -(i + 0.5) * BOARD_PITCH if side != "bottom" else -height
            x = {"left": 0.0, "right": BOARD_WIDTH}.get(side, (i + 0.75) * BOARD_WIDTH / (len(pins) + 0.5))
            net = used.get(pin.at)
            size, colour = (11.0, COLOURS[net[:3]]) if net else (8.0, UNUSED)
            elm.Dot(radius=0.09 if net else 0.05).at((x, y)).color(colour)
            inside: Point = {"left": (x + 0.3, y), "right": (x - 0.3, y)}.get(side, (x, y + 0.3))
            align: Align = {"left": "left", "right": "right"}.get(side, "center")  # type: ignore[assignment]
            _label(inside, pin.label, align, size, colour)
            if net:
                if side != "bottom":
                    outside = (x - 0.3 if side == "left" else x + 0.3, y + 0.17)
                    _label(outside, f"{pin.at.split()[-1]}: {net}", "right" if side == "left" else "left", 8)
                places.append((net, (x, y), side))
    return places, -height


def _draw_modules(wired: tuple[Module, ...], left: float, ends: dict[str, list[Point]]) -> None:
    row = 0.0
    for module in wired:
        _box(left, row, MODULE_WIDTH, len(module.pins), f"{module.label}: {module.title}")
        address = ("first address", "second address")[module.address]
        _label(
            (left + MODULE_WIDTH - 0.2, _y(row + len(module.pins) / 2 - 0.5)),
            f"bus {module.bus}, {address}",
            "right",
            9,
        )
        for i, pin in enumerate(module.pins):
            _label((left + 0.15, _y(row + i)), pin.label, "left")
            ends[pin.net].append((left, _y(row + i)))
        row += len(module.pins) + GAP_ROWS


def _y(row: float) -> float:
    return -(row + 0.5) * PITCH


def _box(x: float, row: float, width: float, rows: int, title: str) -> None:
    top = -row * PITCH
    elm.Rect(corner1=(x, top), corner2=(x + width, top - rows * PITCH)).at((0, 0)).theta(0).linewidth(2)
    _label((x, top + 0.25), title, "left")


def _label(at: Point, text: str, align: Align, size: float = 12, colour: str = "#000000") -> None:
    label = elm.Label().at((at[0], at[1] - 0.08)).theta(0)
    label.label(text, loc="center", halign=align, valign="center", fontsize=size, color=colour)


def _path(points: list[Point], colour: str) -> None:
    for start, end in itertools.pairwise(points):
        elm.Line().at(start).to(end).color(colour).linewidth(2)


def _wire(rail: float, points: list[Point], colour: str) -> None:
    ys = [y for _, y in points]
    elm.Line().at((rail, max(ys))).to((rail, min(ys))).color(colour).linewidth(2)
    for x, y in points:
        elm.Line().at((x, y)).to((rail, y)).color(colour).linewidth(2)
        if min(ys) < y < max(ys):
            elm.Dot(radius=0.08).at((rail, y)).color(colour)


def _bridge(left: float, first_y: float, last_y: float, net: str) -> None:
    """Bridge a pad at the module to the one with the wire; 3V3 farther out than GND, so that both are visible."""
    x = left - BRIDGE * (2 if net == "3V3" else 1)
    elm.Line().at((x, first_y)).to((x, last_y)).color(COLOURS[net]).linewidth(2)
    elm.Line().at((x, last_y)).to((left, last_y)).color(COLOURS[net]).linewidth(2)
    elm.Dot(radius=0.08).at((x, first_y)).color(COLOURS[net])


def main(folder: Path = DIAGRAMS) -> None:
    """Write every diagram into a folder, `diagrams` by default; refuse builds that break a rule."""
    problems = [problem for build in builds() for problem in rules.check(build)]
    if problems:
        sys.exit("\n".join(problems))
    for build in drawn_builds():
        (folder / f"{build.name}.svg").write_bytes(svg(build))
    for part in modules():
        (folder / f"module-{part['chip']}.svg").write_bytes(module_svg(part))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
