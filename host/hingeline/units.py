"""The words that every room shares, and how values are written for a person: sides, units, counts, printable text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

Side = Literal["left", "right", "middle"]
"""Where a part of a surface is, as seen from behind."""
Unit = Literal["deg", "mm", "in"]
UNITS = {"deg": "°", "mm": " mm", "in": " in"}
"""How a unit is written behind its number."""
MM_PER_INCH = 25.4
BLUE, ORANGE = "#0072B2", "#D55E00"
"""The pair of Okabe and Ito, told apart by all eyes; never alone: a word, a sign or a line differs too."""

_DECIMALS = {"deg": 1, "mm": 1, "in": 2}  # from 1 up; one more below


def signed(value: float, decimals: int = 2) -> str:
    """Write a number with its sign; what rounds to nothing is +0."""
    return f"{round(value, decimals) + 0.0:+.{decimals}f}"


def amount(value: float, unit: str = "deg") -> str:
    """Write the size of a number with its unit, as the trade rounds it."""
    return f"{abs(value):.{_DECIMALS[unit] + (abs(value) < 1)}f}{UNITS[unit]}"


def counted(count: int, noun: str) -> str:
    """Write how many there are of something: `1 sensor`, `2 sensors`."""
    return f"{count} {noun}{'s' if count != 1 else ''}"


def aligned(rows: Iterable[Sequence[str]]) -> list[str]:
    """Write rows of cells as lines, each column as wide as its widest cell."""
    table = list(rows)
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    return ["  ".join(map(str.ljust, row, widths)).rstrip() for row in table]


def time_text(time_s: float) -> str:
    """A time in seconds, or from two minutes up in minutes."""
    return f"{time_s:.0f} s" if time_s < 120 else f"{time_s / 60:.0f} min"


def printable(text: str) -> str:
    """Replace what steers a terminal, reorders or hides text: a file or a board may be hostile."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in text)
