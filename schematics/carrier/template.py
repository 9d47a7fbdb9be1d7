"""Draws the paper template of a carrier of 3 mm ply, 1:1: `python schematics/carrier/template.py`.

Four layers glued on each other make the printed carrier's outline, height and pocket; sizes come from carrier.scad.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path

FOLDER = Path(__file__).parent
TEMPLATE = "template.svg"
PAGE_MM = (180.0, 210.0)
"""Width and height of the drawing: on A4 and letter paper it fits within a browser's margins, and is not shrunk."""
MARGIN_MM = 8.0
CHECK_MM = 100.0
GAP_MM = 16.0

STYLE = (
    "text{font-family:sans-serif}.note{font-size:3.4px}.small{font-size:2.8px}.head{font-size:5px;font-weight:bold}"
    ".cut{fill:none;stroke:#000;stroke-width:.25}.hinge{stroke:#0072B2;stroke-width:.6}"
    ".mark{fill:none;stroke:#000;stroke-width:.8}.foot{fill:none;stroke:#D55E00;stroke-width:.3}"
)
INTRODUCTION = (
    "Print at 100 %, no fitting to the page. Measure the line below before you cut.",
    "Glue the sheet on 3 mm ply and cut along the thin lines. For each carrier: one base, both frames, one lid.",
    "The blue edge is the long edge along the hinge line: plane it straight on sandpaper when the glue is dry.",
    "The lower frame's way is for the cable. For a right carrier turn the frames and the base over.",
    "Feet: three discs of 1 mm card at the orange circles, below the base; then all six faces on a flat plate.",
)

Point = tuple[float, float]


@dataclass(frozen=True)
class Sizes:
    """The carrier's sizes, in mm, named as in carrier.scad."""

    length_mm: float
    width_mm: float
    height_mm: float
    pocket_mm: float
    notch_mm: float
    cable_mm: float
    foot_width_mm: float
    mark_mm: float


def sizes() -> Sizes:
    """Read the sizes that carrier.scad sets."""
    source = (FOLDER / "carrier.scad").read_text(encoding="utf-8")
    values = {name: float(value) for name, value in re.findall(r"^(\w+_mm) = ([\d.]+);", source, re.MULTILINE)}
    return Sizes(**{name: values[name] for name in Sizes.__dataclass_fields__})


def page() -> str:
    """Draw the template as SVG. Its unit of length is the mm."""
    width_mm, height_mm = PAGE_MM
    size = sizes()
    right = MARGIN_MM + size.length_mm + 2 * GAP_MM
    top = MARGIN_MM + 55
    step = size.width_mm + GAP_MM
    shapes = [
        _layer("Base, one a carrier", MARGIN_MM, top, size, _outline(size), _feet(size)),
        _layer("Upper frame, one a carrier", right, top, size, _outline(size), _pocket(size)),
        _layer(
            "Lower frame, one a carrier",
            MARGIN_MM,
            top + step,
            size,
            _outline(size),
            _pocket_with_groove(size),
        ),
        _layer("Lid, left", MARGIN_MM, top + 2 * step, size, _outline(size), _marks("L")),
        _layer("Lid, right", right, top + 2 * step, size, _outline(size, mirrored=True), _marks("R")),
    ]
    head = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="{height_mm}mm" '
        f'viewBox="0 0 {width_mm} {height_mm}">',
        f"<style>{STYLE}</style>",
        _text(MARGIN_MM, MARGIN_MM + 3, "Carrier of 3 mm ply, actual size", "head"),
        *[_text(MARGIN_MM, MARGIN_MM + 10 + 5 * i, line) for i, line in enumerate(INTRODUCTION)],
        _check_line(MARGIN_MM, MARGIN_MM + 42),
    ]
    return "\n".join([*head, *shapes, "</svg>", ""])


def _layer(title: str, x: float, y: float, size: Sizes, *content: str) -> str:
    """Draw a layer seen from above, the arrow down the page; its long edge begins at x, y."""
    hinge = f'<line class="hinge" x1="-4" y1="0" x2="{size.length_mm + 4:g}" y2="0"/>' + _text(
        0, -1.5, f"{title}; hinge line", "small"
    )
    return "\n".join([f'<g transform="translate({x:g} {y:g})">', *content, hinge, "</g>"])


def _outline(size: Sizes, mirrored: bool = False) -> str:
    """Draw the outline; the notch is at the inboard end of a left carrier, to the right on the page."""
    length, width, notch = size.length_mm, size.width_mm, size.notch_mm
    corners = [(0.0, 0.0), (length, 0.0), (length, width - notch), (length - notch, width - notch)]
    corners += [(length - notch, width), (0.0, width)]
    return _polygon([(length - x, y) for x, y in corners] if mirrored else corners)


def _pocket(size: Sizes) -> str:
    return _polygon(_pocket_corners(size))


def _pocket_corners(size: Sizes) -> list[Point]:
    left, top = (size.length_mm - size.pocket_mm) / 2, (size.width_mm - size.pocket_mm) / 2
    right, bottom = left + size.pocket_mm, top + size.pocket_mm
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _pocket_with_groove(size: Sizes) -> str:
    """Draw the pocket with the cable's groove to the notch, round a corner, as in carrier.scad."""
    first, second, third, fourth = _pocket_corners(size)
    middle, half = size.width_mm / 2 + 2, size.cable_mm / 2
    turn, end = size.length_mm - size.notch_mm / 2, size.width_mm - size.notch_mm
    groove = [
        (second[0], middle - half),
        (turn + half, middle - half),
        (turn + half, end),
        (turn - half, end),
        (turn - half, middle + half),
        (second[0], middle + half),
    ]
    return _polygon([first, second, *groove, third, fourth])


def _feet(size: Sizes) -> str:
    centres = [(4.0, 2.0), (size.length_mm - 4, 2.0), (size.length_mm / 2, size.width_mm - 2)]
    return "".join(f'<circle class="foot" cx="{x:g}" cy="{y:g}" r="{size.foot_width_mm / 2:g}"/>' for x, y in centres)


def _marks(letter: str) -> str:
    size = sizes()
    middle, tip = size.length_mm / 2, size.width_mm - 4
    arrow = f"M{middle:g} 4V{tip:g}M{middle - 4:g} {tip - 6:g}L{middle:g} {tip:g}L{middle + 4:g} {tip - 6:g}"
    side = size.length_mm * (0.25 if letter == "L" else 0.75)
    return "".join(
        [
            f'<path class="mark" d="{arrow}"/>',
            _text(middle + 3, 8, "to the trailing edge", "small"),
            f'<text x="{side - 3:g}" y="{size.width_mm / 2 + 4:g}" style="font-size:12px">{letter}</text>',
        ]
    )


def _check_line(x: float, y: float) -> str:
    end = x + CHECK_MM
    ends = f"M{x:g} {y - 3:g}V{y + 3:g}M{end:g} {y - 3:g}V{y + 3:g}M{x:g} {y:g}H{end:g}"
    return f'<path class="cut" d="{ends}"/>' + _text(x + 20, y - 1.5, f"must measure {CHECK_MM:g} mm after printing")


def _polygon(corners: list[Point]) -> str:
    return f'<path class="cut" d="M{"L".join(f"{x:g} {y:g}" for x, y in corners)}Z"/>'


def _text(x: float, y: float, text: str, kind: str = "note") -> str:
    return f'<text class="{kind}" x="{x:g}" y="{y:g}">{text}</text>'


def main(folder: Path = FOLDER) -> None:
    """Write the template into a folder, by default beside this file."""
    (folder / TEMPLATE).write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
