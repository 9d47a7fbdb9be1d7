"""Droop: hold full deflection for a minute."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hingeline.checks.droop import DROOP_DEG, is_held, judge_droop
from hingeline.measure.capture import Readings
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Message, Next, Step, Taken, joined
from hingeline.procedures.surface import Examination

ALOUD_S = 15
"""The time to go is said so often, and shown every second."""


@dataclass(frozen=True)
class Droop(Examination):
    """A surface held at full deflection `for_s`, of which it may creep `limit_deg`, and left from right.

    Without a limit that of the check holds. `start` has the readings at the beginning, `seconds` the tracks of each
    second since.
    """

    limit_deg: float | None = None
    for_s: float = 60.0
    start: Readings | None = None
    seconds: tuple[Tracks, ...] = ()

    def next_step(self, neutral: NeutralReading) -> Step:
        """Full deflection, then a second after the other."""
        if self.start is None:
            return self.wait("full deflection, and leave it there.")
        left_s = self.for_s - len(self.seconds)
        is_aloud = len(self.seconds) % ALOUD_S == 0
        return self.wait(
            f"holding, {left_s:.0f} s to go.", is_tracked=True, lasts_s=min(left_s, 1.0), is_aloud=is_aloud
        )

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[Droop]:
        """Take the start, or a second."""
        if self.start is None:
            if not is_held(neutral, event.readings):
                return Next(self, messages=(Message("Still near neutral: go all the way and leave it there."),))
            return Next(replace(self, start=event.readings), taken="the start")
        seconds, result = (*self.seconds, event.tracks), None
        if len(seconds) >= self.for_s:
            result = judge_droop(neutral, self.start, joined(*seconds), self.limit_deg or DROOP_DEG)
        return Next(replace(self, seconds=seconds, result=result))
