"""The scene's clock: paced by the wall clock, held back for boards that lag."""

from __future__ import annotations

import math


class Clock:
    """Scene time in whole microseconds.

    Parameters
    ----------
    speed
        Scene seconds in a second; with 0 only `limit_us` paces it.
    """

    def __init__(self, speed: float) -> None:
        self._speed = speed
        self._wall_s: float | None = None
        self.now_us = 0

    @property
    def now_s(self) -> float:
        """Scene time in s."""
        return self.now_us / 1e6

    def advance(self, wall_s: float, limit_us: float) -> None:
        """Go on with the wall clock, but not beyond `limit_us`, and never back.

        With speed 0 and no limit (infinite) time stands still.
        """
        past_s = 0.0 if self._wall_s is None else wall_s - self._wall_s
        self._wall_s = wall_s
        wanted_us = self.now_us + past_s * 1e6 * self._speed if self._speed else math.inf
        reached_us = min(wanted_us, limit_us)
        if math.isfinite(reached_us):
            self.now_us = max(self.now_us, math.floor(reached_us))

    def wall_wait_s(self, until_us: float) -> float:
        """How many seconds of the wall clock pass until a scene time."""
        if not self._speed or not math.isfinite(until_us):
            return 0.0 if math.isfinite(until_us) else math.inf
        return max(0.0, (until_us - self.now_us) / 1e6 / self._speed)
