"""Draw the figures of docs/background.md from the formulas the program uses: `make docs`."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from matplotlib import rc_context, rcParams
from matplotlib.figure import Figure

from hingeline.units import BLUE, ORANGE
from hingeline_calibration.travel import CONVENTIONS, travel_mm

DOCS = Path(__file__).parent
STROKES = {"ruler": (BLUE, "-"), "height": (ORANGE, "--"), "arc": ("black", ":")}


def travels() -> Figure:
    """Travel of a 50 mm chord by the three conventions."""
    figure = Figure(figsize=(6, 3.4), layout="constrained")
    axes = figure.add_subplot()
    deflections_deg = np.linspace(0, 70, 141)
    for convention in CONVENTIONS:
        colour, stroke = STROKES[convention]
        travelled_mm = [travel_mm(float(one), 50.0, convention) for one in deflections_deg]
        axes.plot(deflections_deg, travelled_mm, color=colour, linestyle=stroke, label=convention)
    axes.set(xlabel="deflection, °", ylabel="travel at 50 mm chord, mm", xlim=(0, 70), ylim=(0, None))
    axes.grid(alpha=0.3)
    axes.legend()
    return figure


def raised_hinge() -> Figure:
    """What the angle between two gravity vectors misses of 30° about a raised hinge, and how the noise grows."""
    figure = Figure(figsize=(6, 3.4), layout="constrained")
    axes = figure.add_subplot()
    raised_deg = np.linspace(0, 70, 141)
    raised = np.radians(raised_deg)
    between_deg = np.degrees(2 * np.arcsin(np.cos(raised) * math.sin(math.radians(15))))
    axes.plot(raised_deg, np.full_like(raised_deg, 30), color=BLUE, label="about the hinge")
    axes.plot(raised_deg, between_deg, color=ORANGE, linestyle="--", label="between two gravity vectors")
    axes.set(xlabel="hinge raised, °", ylabel="reading of a true 30°, °", xlim=(0, 70), ylim=(0, 35))
    axes.grid(alpha=0.3)
    noise = axes.twinx()
    noise.plot(raised_deg, 1 / np.cos(raised), color="black", linestyle=":", label="noise, times level (right)")
    noise.set(ylabel="noise, times that of a level hinge", ylim=(0, 3.5))
    lines = [*axes.get_lines(), *noise.get_lines()]
    axes.legend(lines, [str(one.get_label()) for one in lines], loc="lower left")
    return figure


def directions() -> Figure:
    """Which way the trailing edges go, seen from behind, as docs/directions.txt has it."""
    table = (DOCS / "directions.txt").read_text(encoding="utf-8").splitlines()
    rows = [row.split() for row in table if not row.startswith("#")]
    figure = Figure(figsize=(7.2, 7.2), layout="constrained")
    for axes, (kind, dihedral, stick, way, *goes) in zip(figure.subplots(4, 4).flat, rows, strict=True):
        raised = math.radians(float(dihedral))
        for outboard, arrow in zip((-1, 1), goes, strict=True):
            x, y = outboard * math.cos(raised), math.sin(raised)
            axes.plot([0, x], [0, y], color="black", linewidth=2)
            across, up = {"up": (0, 0.55), "down": (0, -0.55), "left": (-0.55, 0), "right": (0.55, 0)}[arrow]
            start = (x / 2, y / 2)
            axes.annotate("", (start[0] + across, start[1] + up), start, arrowprops={"arrowstyle": "-|>", "lw": 1.5})
        axes.plot(0, 0, "o", color="black", markersize=7, markerfacecolor="white")
        axes.set(xlim=(-1.15, 1.15), ylim=(-1.15, 1.15), aspect="equal", title=f"{kind}\n{stick} {way}".lower())
        axes.set_axis_off()
    return figure


FIGURES = {"travel.svg": travels, "raised-hinge.svg": raised_hinge, "direction.svg": directions}


def draw(folder: Path) -> None:
    """Write all figures into a folder."""
    with rc_context():
        rcParams["svg.hashsalt"] = "hingeline"  # the same ids each time
        rcParams["font.size"] = 9
        for name, make in FIGURES.items():
            make().savefig(folder / name, metadata={"Date": None, "Creator": None})


if __name__ == "__main__":
    draw(DOCS)
