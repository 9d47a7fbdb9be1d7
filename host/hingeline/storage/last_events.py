"""The last events of the run that is recorded, for a report of what nobody foresaw."""

from collections import deque

LAST_EVENTS: deque[str] = deque(maxlen=40)
MOST_LETTERS = 400
"""A whole calibration or rigging sheet is of no use there."""


def note_event(text: str) -> None:
    """Keep the beginning of an event's record."""
    LAST_EVENTS.append(text[:MOST_LETTERS])
