"""Hinge: where the hinge runs in each sensor, from a slow sweep."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial

from hingeline.checks.hinge import find_hinges
from hingeline.checks.results import HingeResult
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Next, Step, Taken, joined
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.rig.sheet import Sheet
from hingeline.storage.sides import place_of, save_hinge


@dataclass(frozen=True)
class FindHinge(SurfaceProcedure):
    """Sweeps, with their `tracks`, until each sensor tells its hinge well enough: then there are `hinges`."""

    tracks: Tracks = field(default_factory=dict)
    hinges: tuple[HingeResult, ...] | None = None

    def next_step(self, neutral: NeutralReading) -> Step | None:
        """Sweeps."""
        if self.hinges is not None:
            return None
        ask = "sweep it slowly over its whole travel and back, twice; then let go."
        if self.tracks:
            ask = "not yet known well enough; sweep it further and more slowly, then let go."
        return self.wait(ask, all_moved=True)

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[FindHinge]:
        """Look whether the sweeps so far tell the hinges."""
        tracks = joined(self.tracks, event.tracks)
        hinges = find_hinges(self.surface, neutral, tracks)
        taken = "the sweep" if hinges else ""
        return Next(replace(self, tracks=tracks, hinges=hinges), taken=taken, results=hinges or ())


def find_hinge(
    runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]
) -> tuple[tuple[HingeResult, ...], bool]:
    """Find the hinge of each side and keep it for this session; also whether it was kept. Raises as `Runner.run`."""
    hinges = runner.run(FindHinge(sheet, surface, instruments)).hinges or ()
    kept = []
    for hinge in hinges:
        place = place_of(sheet.aircraft, surface, hinge.side)
        save = partial(save_hinge, runner.store, place, hinge.sensor_id, hinge.axis, runner.started)
        kept.append(runner.save(save))
    return hinges, all(kept)
