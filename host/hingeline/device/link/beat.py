"""The beat: moments of the host's monotonic clock at which what streams is taken, of all boards at once, and shown."""

from __future__ import annotations

from time import monotonic

BEAT_S = 1 / 15
"""Fifteen times a second the computer wakes up, however many lines there are, and no board is waited for to put events
in order."""


def next_s(period_s: float = BEAT_S, after_s: float = 0.0) -> float:
    """Return how long it is to the next multiple of a period, or to `after_s` after it."""
    return period_s - (monotonic() - after_s) % period_s
