"""The beat: moments of the host's clock at which all streams are read at once, and shown."""

from __future__ import annotations

from time import perf_counter

BEAT_S = 1 / 15
"""Fifteen times a second the computer wakes up, however many lines there are, and no board is waited for to put events
in order."""


def next_s(period_s: float = BEAT_S, after_s: float = 0.0) -> float:
    """Time left until the next multiple of a period, or until `after_s` after it."""
    return period_s - (perf_counter() - after_s) % period_s
