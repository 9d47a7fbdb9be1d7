"""Hinge: where the hinge runs in each sensor, from a slow sweep."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial

from hingeline.checks.hinge import find_hinges
from hingeline.checks.results import HingeResult
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Next, Step, Taken, joined
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.rig.sheet import Sheet
from hingeline.storage.sides import place_of, save_hinge


@dataclass(frozen=True)
class FindHinge(SurfaceProcedure):
    """Sweeps until each hinge is known well enough.

    Attributes
    ----------
    tracks
        Of the sweeps so far.
    hinges
        How each sensor sits; None before that is known.
    """

    tracks: Tracks = field(default_factory=dict)
    hinges: tuple[HingeResult, ...] | None = None

    @property
    def step(self) -> Step | None:
        """Neutral first, then sweeps."""
        if self.neutral is None:
            return Step(f"{self.surface}: sticks centred, hands off.", self.sensors)
        if self.hinges is not None:
            return None
        ask = f"{self.surface}: sweep it slowly over its whole travel and back, twice; then let go."
        if self.tracks:
            ask = f"{self.surface}: not yet known well enough; sweep it further and more slowly, then let go."
        return Step(ask, self.sensors, all_moved=True)

    def after(self, event: Taken) -> Next[FindHinge]:
        """Look whether the sweeps so far tell the hinges."""
        if self.neutral is None:
            return self.at_neutral(event)
        tracks = joined(self.tracks, event)
        hinges = find_hinges(self.surface, self.neutral, tracks)
        taken = "the sweep" if hinges else ""
        return Next(replace(self, tracks=tracks, hinges=hinges), taken=taken, results=hinges or ())


def find_hinge(
    runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]
) -> tuple[tuple[HingeResult, ...], bool]:
    """Find the hinge of each side and keep it for this session; also whether it was kept. Raises as `Runner.run`."""
    hinges = runner.run(FindHinge(sheet, surface, instruments)).hinges or ()
    kept = [
        runner.save(
            partial(
                save_hinge,
                runner.store,
                place_of(sheet.aircraft, surface, hinge.side),
                hinge.sensor_id,
                hinge.axis,
                runner.started,
            )
        )
        for hinge in hinges
    ]
    return hinges, all(kept)
