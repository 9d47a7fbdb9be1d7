"""Hinge, the first stroke: from one slow movement, where the hinge runs in each sensor, and how they are taped on."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial

from hingeline.checks.direction import Command, commands
from hingeline.checks.hinge import Swept, enough_yaw_deg, find_hinges
from hingeline.checks.results import HingeResult
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.measure.tracks import Tracks
from hingeline.procedures.procedure import Message, Next, Step, Taken, joined
from hingeline.procedures.runner import Runner
from hingeline.procedures.surface import SurfaceProcedure
from hingeline.rig.sheet import Sheet
from hingeline.storage.sides import place_of, save_hinge
from hingeline.units import Side
from hingeline_calibration.stroke import SURE, explain


@dataclass(frozen=True)
class FindHinge(SurfaceProcedure):
    """Sweeps, with their `tracks`, until each sensor tells its hinge well enough: then there are `hinges`.

    The direction of the first movement tells an arrow that points forward, or a servo that runs in reverse.
    """

    tracks: Tracks = field(default_factory=dict)
    hinges: tuple[HingeResult, ...] | None = None

    def next_step(self, neutral: NeutralReading) -> Step | None:
        """Sweeps."""
        if self.hinges is not None:
            return None
        first = commands(self.sheet.surface(self.surface))[0].stick
        ask = f"sweep it slowly over its whole travel and back, {first} first; then let go."
        if self.tracks:
            ask = "not yet known well enough; sweep it further and more slowly, then let go."
        return self.wait(ask, all_moved=True, is_tracked=True)

    def measure(self, event: Taken, neutral: NeutralReading) -> Next[FindHinge]:
        """Look whether the sweeps so far tell the hinges; a carrier the wrong way round is to be taped anew."""
        tracks = joined(self.tracks, event.tracks)
        swept = find_hinges(self.surface, neutral, tracks, self._enough_deg)
        if swept is None and self.tracks:
            swept = find_hinges(self.surface, neutral, tracks)
        if swept is None:
            return Next(replace(self, tracks=tracks))
        turned, text = self._explain(swept)
        if turned:
            return Next(replace(self, neutral=None, tracks={}), messages=(Message(text),))
        hinges = tuple(each.hinge for each in swept)
        messages = (Message(text),) if text else ()
        return Next(replace(self, tracks=tracks, hinges=hinges), taken="the sweep", messages=messages, results=hinges)

    @property
    def _enough_deg(self) -> float:
        tolerances = [target.tolerance_deg for target in self.sheet.neutrals(self.surface)]
        return enough_yaw_deg(self.sheet.surface(self.surface).dihedral_deg, min(tolerances, default=1.0))

    def _explain(self, swept: tuple[Swept, ...]) -> tuple[bool, str]:
        """Whether the sensors surely sit otherwise than was taken, and what is to be said of the first movement."""
        surface = self.sheet.surface(self.surface)
        first = commands(surface)[0]
        sides = {each.hinge.sensor_id: str(each.hinge.side) for each in swept}
        likely, likely_as_named = (
            explain(
                {each.hinge.sensor_id: each.stroke for each in swept},
                sides,
                {str(side): sign for side, sign in first.signs.items()},
                dihedral_deg=surface.dihedral_deg,
                sides_known=sides_known,
            )[0]
            for sides_known in (False, True)
        )
        if likely.sides != sides and likely.probability >= SURE:
            return True, "The left sensor sits on the right, the right one on the left: let them change places."
        if likely_as_named.arrow_forward and likely_as_named.probability >= SURE:
            forward = " and ".join(sorted(likely_as_named.arrow_forward))
            return True, f"The arrow of the {forward} sensor points forward: turn it round, arrow to the trailing edge."
        wrong = tuple(each.hinge.side for each in swept if each.stroke.first_deg * first.signs[each.hinge.side] < 0)
        return False, _doubt_text(first, wrong) if wrong else ""


def _doubt_text(first: Command, wrong: tuple[Side, ...]) -> str:
    expected = ", ".join(f"{side} {'up' if first.signs[side] > 0 else 'down'}" for side in wrong)
    causes = "the stick went the other way first, a servo runs in reverse, or an arrow points forward"
    if len({first.signs[side] for side in wrong}) == 2:
        causes = f"left and right sensor are swapped, {causes}"
    return (
        f"It went the other way first than with {first.stick} (expected {expected}): {causes}. "
        "`hingeline direction` tells."
    )


def find_hinge(
    runner: Runner, sheet: Sheet, surface: str, instruments: tuple[Instrument, ...]
) -> tuple[tuple[HingeResult, ...], bool]:
    """Find the hinge of each side and keep it for this session; also whether it was kept. Raises as `Runner.run`."""
    hinges = runner.run(FindHinge(sheet, surface, instruments)).hinges or ()
    if any(hinge.is_news for hinge in hinges):
        runner.say(f"A neutral of the {surface} from before this stroke is void: if there is one, measure it again.")
    return hinges, keep_hinges(runner, sheet, hinges)


def keep_hinges(runner: Runner, sheet: Sheet, hinges: tuple[HingeResult, ...]) -> bool:
    """Keep hinges for this session; whether all could be kept."""
    kept = []
    for hinge in hinges:
        place = place_of(sheet.aircraft, hinge.surface, hinge.side)
        save = partial(save_hinge, runner.store, place, hinge.sensor_id, hinge.axis, runner.started)
        kept.append(runner.save(save))
    return all(kept)


def about(instruments: tuple[Instrument, ...], hinges: tuple[HingeResult, ...]) -> tuple[Instrument, ...]:
    """Instruments that measure about the hinges that were found."""
    axes = {hinge.side: hinge.axis for hinge in hinges}
    return tuple(replace(each, hinge=axes.get(each.side, each.hinge)) for each in instruments)
