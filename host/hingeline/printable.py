"""Words from anywhere, for a screen or a page."""

from __future__ import annotations


def printable(text: str) -> str:
    """Return a text without what steers a terminal, reorders or hides: whatever a session says may be hostile."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in text)
