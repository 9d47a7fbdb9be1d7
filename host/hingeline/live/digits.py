"""Large letters of blocks, for the number and the word that are read from three metres: a font of our own."""

from __future__ import annotations

from functools import lru_cache

ROWS = 5
_FONT = {
    "0": ("###", "# #", "# #", "# #", "###"),
    "1": ("## ", " # ", " # ", " # ", "###"),
    "2": ("###", "  #", "###", "#  ", "###"),
    "3": ("###", "  #", " ##", "  #", "###"),
    "4": ("# #", "# #", "###", "  #", "  #"),
    "5": ("###", "#  ", "###", "  #", "###"),
    "6": ("###", "#  ", "###", "# #", "###"),
    "7": ("###", "  #", "  #", " # ", " # "),
    "8": ("###", "# #", "###", "# #", "###"),
    "9": ("###", "# #", "###", "  #", "###"),
    "+": ("   ", " # ", "###", " # ", "   "),
    "-": ("   ", "   ", "###", "   ", "   "),
    ".": (" ", " ", " ", " ", "#"),
    "A": ("###", "# #", "###", "# #", "# #"),
    "C": ("###", "#  ", "#  ", "#  ", "###"),
    "D": ("## ", "# #", "# #", "# #", "## "),
    "E": ("###", "#  ", "## ", "#  ", "###"),
    "G": ("###", "#  ", "# #", "# #", "###"),
    "H": ("# #", "# #", "###", "# #", "# #"),
    "I": ("###", " # ", " # ", " # ", "###"),
    "L": ("#  ", "#  ", "#  ", "#  ", "###"),
    "M": ("#   #", "## ##", "# # #", "#   #", "#   #"),
    "N": ("#  #", "## #", "# ##", "#  #", "#  #"),
    "O": (" # ", "# #", "# #", "# #", " # "),
    "R": ("## ", "# #", "## ", "# #", "# #"),
    "S": (" ##", "#  ", " # ", "  #", "## "),
    "T": ("###", " # ", " # ", " # ", " # "),
    "W": ("#   #", "#   #", "# # #", "## ##", "#   #"),
}
"""Five dots high."""

Dot = tuple[int, int]
"""Columns and rows of the terminal that a dot takes."""


@lru_cache(maxsize=64)
def draw(text: str, dot: Dot) -> tuple[str, ...]:
    """Draw a text as lines of blocks."""
    columns, rows = dot
    lines = (" ".join(_FONT[letter][row] for letter in text).replace("#", "█") for row in range(ROWS))
    return tuple("".join(point * columns for point in line) for line in lines for _ in range(rows))


def width(text: str, dot: Dot) -> int:
    """Count the columns of a text."""
    return max(map(len, draw(text, dot)), default=0)
