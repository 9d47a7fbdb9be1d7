"""One time scale for boards whose clocks wrap, drift and started whenever they were plugged in."""

from __future__ import annotations

from hingeline_protocol.messages import TICKS_PERIOD_US

DRIFT_LIMIT = 200e-6
"""No two crystals differ by more: 100 ppm each is a poor one (common practice, no source)."""


class BoardClock:
    """Maps a board's `ticks_us` to seconds on the host's monotonic scale.

    Differences of times are the board's own to within `DRIFT_LIMIT`, without the jitter of arrivals. Lines of one beat
    have the arrival of their first, so times lie up to a beat early, those of all boards alike. The offset follows the
    median of `arrival - board time` in steps that poor clocks may drift: a late line moves it no more than one in time.

    Ticks wrap (17.9 minutes). Between lines the shorter way round is taken; a silence of half a wrap or more adds the
    whole number of wraps that the host's clock makes likely.
    """

    def __init__(self) -> None:
        self._board_us = 0
        self._arrival_us = 0.0
        self._offset_us: float | None = None

    def time_s(self, ticks_us: int, arrival_ns: int) -> float:
        """Place `ticks_us`, of a line that arrived at `arrival_ns`, on the host's time scale."""
        arrival_us = arrival_ns * 1e-3
        if self._offset_us is None:
            self._offset_us = arrival_us - ticks_us
            self._board_us, self._arrival_us = ticks_us, arrival_us
            return arrival_us * 1e-6
        step_us = (ticks_us - self._board_us) % TICKS_PERIOD_US
        if step_us > TICKS_PERIOD_US // 2:
            step_us -= TICKS_PERIOD_US
        silence_us = arrival_us - self._arrival_us
        if silence_us > TICKS_PERIOD_US // 2:
            step_us += TICKS_PERIOD_US * round((silence_us - step_us) / TICKS_PERIOD_US)
        self._board_us += step_us
        self._arrival_us = arrival_us
        lead_us = arrival_us - self._board_us - self._offset_us
        allowed_us = DRIFT_LIMIT * max(step_us, 0)
        self._offset_us += min(max(lead_us, -allowed_us), allowed_us)
        return (self._board_us + self._offset_us) * 1e-6
