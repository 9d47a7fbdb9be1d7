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


def width(text: str, dot: Dot) -> int:
    """Count the columns of a text."""
    return dot[0] * (sum(len(_FONT[letter][0]) for letter in text) + len(text) - 1)


@lru_cache(maxsize=64)
def draw(text: str, dot: Dot) -> tuple[str, ...]:
    """Draw a text as lines of blocks."""
    lines: list[str] = []
    for row in range(ROWS):
        dots = " ".join(_FONT[letter][row] for letter in text)
        line = "".join(("█" if point == "#" else " ") * dot[0] for point in dots)
        lines += [line] * dot[1]
    return tuple(lines)
