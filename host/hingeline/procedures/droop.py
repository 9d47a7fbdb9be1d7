"""Droop: hold full deflection for a minute."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hingeline.checks.droop import DROOP_DEG, is_held, judge_droop
from hingeline.checks.results import CheckResult
from hingeline.measure.capture import Readings
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Message, Next, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import Examination, read_limit_deg
from hingeline.rig.sheet import Sheet

ALOUD_S = 15
"""The time to go is said so often, and shown every second."""


@dataclass(frozen=True)
class Droop(Examination):
    """A surface held at full deflection.

    Attributes
    ----------
    limit_deg
        How far it may creep, and left from right.
    for_s
        How long it is held.
    start
        The readings at the beginning.
    seconds
        The tracks of each second since.
    """

    limit_deg: float = 0.5
    for_s: float = 60.0
    start: Readings | None = None
    seconds: tuple[Tracks, ...] = ()

    @property
    def step(self) -> Step | None:
        """Neutral, full deflection, then a second after the other."""
        if self.neutral is None:
            return Step(f"{self.surface}: sticks centred, hands off.", self.sensors)
        if self.start is None:
            return Step(f"{self.surface}: full deflection, and leave it there.", self.sensors)
        left_s = self.for_s - len(self.seconds)
        if left_s <= 0:
            return None
        return Step(
            f"{self.surface}: holding, {left_s:.0f} s to go.",
            self.sensors,
            lasts_s=min(left_s, 1.0),
            is_aloud=len(self.seconds) % ALOUD_S == 0,
        )

    def after(self, event: Taken) -> Next[Droop]:
        """Take the neutral, the start, or a second."""
        if self.neutral is None:
            return self.at_neutral(event)
        if self.start is not None:
            return Next(replace(self, seconds=(*self.seconds, event.tracks)))
        if not is_held(self.neutral, event.readings):
            return Next(self, messages=(Message("Still near neutral: go all the way and leave it there."),))
        return Next(replace(self, start=event.readings), taken="the start")

    @property
    def result(self) -> CheckResult:
        """What it comes to, at the end."""
        tracks = {
            sensor_id: tuple(sample for second in self.seconds for sample in second[sensor_id])
            for sensor_id in self.sensors
        }
        if self.neutral is None:
            return CheckResult.of("droop", ())
        return judge_droop(self.neutral, self.start or {}, tracks, self.limit_deg)


def begin_droop(runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]) -> Droop:
    """Begin as the choices of the run have it. Raises `UsageProblem` where the limit is none."""
    limit_deg = read_limit_deg(runner.choices["limit"]) or DROOP_DEG
    return Droop(sheet, surface, instruments, limit_deg=limit_deg, for_s=runner.choices["for_s"])
