"""Where the lengths and angles of a surface are measured, drawn to what was typed."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from markupsafe import Markup

_HINGES = {"top": -9.0, "middle": 0.0, "bottom": 9.0}
_MOST_DEG = 60.0
"""Steeper than this a drawing tells nothing more."""
_FIGURE = re.compile(r"[+-]?\d+(?:\.\d+)?(?= ?(?:deg|°))")


def drawings(values: Mapping[str, str]) -> Markup:
    """A section across the hinge, the half seen from above, and it seen from behind, as SVG.

    `values` are the keys of the surface as they were typed; where one says no angle the usual one is drawn.
    """
    sweep, dihedral = (_degrees(values.get(key, "")) for key in ("sweep", "dihedral"))
    hinge = values.get("hinge") or "middle"
    parts = (_section(_HINGES.get(hinge, 0.0), hinge), _from_above(sweep), _from_behind(dihedral))
    return Markup("").join(parts)


def _degrees(written: str) -> float:
    number = _FIGURE.match(written)
    return max(-_MOST_DEG, min(_MOST_DEG, float(number[0]))) if number else 0.0


def _svg(title: str, body: str) -> Markup:
    """A drawing of 200 by 120 with its name."""
    return Markup(
        '<figure><svg viewBox="0 0 200 120" role="img" aria-label="{0}" fill="none" stroke="currentColor" '
        'stroke-width="1.6" stroke-linecap="round" font-size="11">{1}</svg><figcaption>{0}</figcaption></figure>'
    ).format(title, Markup(body))


def _text(x: float, y: float, words: str) -> str:
    return f'<text x="{x:.0f}" y="{y:.0f}" text-anchor="middle" fill="currentColor" stroke="none">{words}</text>'


def _measure(x1: float, y1: float, x2: float, y2: float) -> str:
    """A dimension line with ticks."""
    along = math.hypot(x2 - x1, y2 - y1)
    across_x, across_y = 4 * (y1 - y2) / along, 4 * (x2 - x1) / along
    ticks = "".join(
        f"M{x - across_x:.1f} {y - across_y:.1f}L{x + across_x:.1f} {y + across_y:.1f}" for x, y in ((x1, y1), (x2, y2))
    )
    return f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}{ticks}" stroke-width="1"/>'


def _section(hinge_y: float, hinge: str) -> Markup:
    y = 52 + hinge_y
    return _svg(
        f"across the hinge: the hinge axis is in the {hinge if hinge == 'middle' else f'{hinge} skin'}",
        '<path d="M8 40Q40 36 78 43V61Q40 68 8 64"/><path d="M82 43L188 52L82 61Z"/>'
        f'<circle cx="80" cy="{y:.1f}" r="3.5" fill="currentColor"/>'
        f'<path d="M80 {y + 5:.1f}V92M188 55V92" stroke-dasharray="2 3" stroke-width="1"/>'
        + _measure(80, 86, 188, 86)
        + _text(134, 102, "chord"),
    )


def _from_above(sweep_deg: float) -> Markup:
    aft = 80 * math.tan(math.radians(sweep_deg)) / 2
    root, tip = 52 - aft, 52 + aft
    station = 60.0
    at = root + (tip - root) * (station - 30) / 150
    return _svg(
        f"from above: hinge swept {sweep_deg:g}°, tip aft positive; the station, where the chord is measured",
        f'<path d="M30 {root - 34:.1f}L180 {tip - 34:.1f}V{tip + 22:.1f}L30 {root + 22:.1f}Z"/>'
        f'<path d="M30 {root:.1f}L180 {tip:.1f}" stroke-dasharray="7 3 1 3"/>'
        f'<path d="M{station} {at:.1f}v22" stroke-width="3"/>'
        + _measure(30, root + 32, station, root + 32)
        + _text(52, root + 47, "station"),
    )


def _from_behind(dihedral_deg: float) -> Markup:
    rise = math.radians(dihedral_deg)
    x, y = 24 + 150 * math.cos(rise), 92 - 150 * math.sin(rise)
    scale = min(1.0, 84 / max(1.0, 92 - y))
    x, y = 24 + (x - 24) * scale, 92 - (92 - y) * scale
    return _svg(
        f"from behind, right side: hinge raised {dihedral_deg:g}°, tip up positive",
        '<path d="M24 92H176" stroke-dasharray="2 3" stroke-width="1"/>'
        f'<path d="M24 92L{x:.1f} {y:.1f}" stroke-width="4"/>' + _text(150, 108, "level"),
    )
