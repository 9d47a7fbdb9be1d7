"""A whole set-up in one sitting: datum, then surface by surface tape, first stroke, neutral, throws; sensors off again.

It is a chain of the procedures, each of which is a command of its own too. Given is what is still to be measured: so it
goes on where it was, however it ended.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from hingeline.checks.positions import Measure
from hingeline.checks.results import DriftCheck, NeutralResult
from hingeline.measure.pipeline import Instrument
from hingeline.procedures.datum import check_drift, take_datum
from hingeline.procedures.hinge import about, find_hinge
from hingeline.procedures.neutral import match_neutral
from hingeline.procedures.procedure import Next, Pause, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import seat_sensors
from hingeline.procedures.surface_throws import SurfaceThrows, measure_throws
from hingeline.procedures.wiggle import await_wiggle
from hingeline.rig.sheet import Sheet
from hingeline.storage import sides
from hingeline.storage.calibrations import find_datum
from hingeline.storage.clock import is_of_session

OFF = "Take every sensor off the model, and lay all on the flat as for the datum."


@dataclass(frozen=True)
class TakeOff(Procedure):
    """Waits until every sensor has gone from where it sits: no key tells it."""

    sensors: tuple[str, ...]
    taken: int = 0

    @property
    def step(self) -> Step | None:
        """Where they sit first, then elsewhere."""
        if self.taken == 0:
            return Step("Hands off for a moment.", self.sensors)
        return Step(OFF, self.sensors, all_moved=True, can_stand=False) if self.taken == 1 else None

    def after(self, event: Taken) -> Next[TakeOff]:
        """Go on."""
        return Next(replace(self, taken=self.taken + 1))


@dataclass(frozen=True)
class SetUp:
    """What a set-up came to: of each surface what was left to do, and the drift check."""

    neutrals: Mapping[str, NeutralResult]
    throws: Mapping[str, SurfaceThrows]
    drift: DriftCheck

    @property
    def inside(self) -> bool:
        """Whether all of it is within the tolerance, and the datum holds."""
        return (
            all(neutral.inside for neutral in self.neutrals.values())
            and all(throws.inside for throws in self.throws.values())
            and self.drift.holds
        )


def set_up(runner: Runner, sheet: Sheet, work: Sequence[Measure], go_on: str) -> SetUp:
    """Measure what is still to be measured of an aircraft. Raises as `Runner.run`."""
    neutrals: dict[str, NeutralResult] = {}
    throws: dict[str, SurfaceThrows] = {}
    surfaces = list(dict.fromkeys(measure.surface for measure in work))
    if surfaces:
        runner.run(Pause("Ready: sensors on the table, transmitter on. Press"))
    if surfaces and _needs_datum(runner):
        take_datum(runner, any(target.reference == "level" for name in surfaces for target in sheet.neutrals(name)))
        runner.say("Datum taken.")
    for number, surface in enumerate(surfaces, 1):
        runner.say(f"{surface}, surface {number} of {len(surfaces)}")
        instruments = _tape(runner, sheet, surface)
        hinges, _ = find_hinge(runner, sheet, surface, instruments)
        instruments = about(instruments, hinges)
        stood = None
        if Measure("neutral", surface) in work:
            neutrals[surface], stood = match_neutral(runner, sheet, surface, instruments, go_on)
        if Measure("throws", surface) in work:
            throws[surface] = measure_throws(runner, sheet, surface, instruments, stood)
    runner.run(Pause(f"{OFF} Then press"))
    if surfaces and not runner.asks:
        runner.run(TakeOff(sides.working_sensors(runner.sensors)))
    _, drift = check_drift(runner)
    return SetUp(neutrals, throws, drift)


def _needs_datum(runner: Runner) -> bool:
    """Whether there is no datum of this session that holds every working sensor."""
    datum = find_datum(runner.store)
    if datum is None:
        return True
    is_of_all = set(sides.working_sensors(runner.sensors)) <= datum.gravity.keys()
    return not (is_of_all and datum.holds is not False and is_of_session(runner.store, datum.date, runner.started))


def _tape(runner: Runner, sheet: Sheet, surface: str) -> tuple[Instrument, ...]:
    """An instrument for each side once the sensors are taped on: a key tells it, else a wiggle."""
    runner.run(
        Pause(
            f"{surface}: tape the sensors on, base to the skin, edge along the hinge line, arrow to the trailing edge, "
            "both at the same distance from the root. Then press"
        )
    )
    kept = sides.load_sides(runner.store)
    are_known = bool(kept) and sides.sides_known(runner.store, kept, runner.started)
    instruments = seat_sensors(runner, sheet, surface, by_wiggle=True)
    if not runner.asks and (are_known or len(instruments) == 1):
        runner.run(await_wiggle(surface, instruments))
    return instruments
