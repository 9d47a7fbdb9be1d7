"""What the throws of a surface come to: measured by the sensors on it, summed up, with the settings they end at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from hingeline.checks.hinge import hinge_text
from hingeline.checks.linkage import chain_of
from hingeline.checks.positions import Position
from hingeline.checks.results import HingeResult, SettingSheet, Skipped, ThrowResult
from hingeline.checks.settings import sheet_text
from hingeline.checks.summary import Summary, given_differentials, last_readings, summarise
from hingeline.measure.neutral import NeutralReading
from hingeline.measure.pipeline import Instrument
from hingeline.procedures.runner import Runner
from hingeline.procedures.seating import seat_on
from hingeline.procedures.settings import settings_now
from hingeline.procedures.throws import Throws
from hingeline.rig.sheet import Sheet


@dataclass(frozen=True)
class SurfaceThrows:
    """What the throws of one surface come to."""

    readings: tuple[ThrowResult, ...]
    left_out: tuple[Skipped, ...]
    summary: Summary
    hinges: tuple[HingeResult, ...]
    settings: SettingSheet

    @property
    def unmeasured(self) -> tuple[str, ...]:
        """Words for each position that was left out and not read in another cycle either."""
        read = {(reading.mode, reading.command) for reading in self.readings}
        left_out = dict.fromkeys((each.mode, each.command) for each in self.left_out)
        return tuple(Position(*place).name for place in left_out if place not in read)

    @property
    def inside(self) -> bool:
        """Whether everything was measured and is within the tolerance."""
        return not self.unmeasured and all(reading.inside for reading in self.readings)

    def text(self) -> str:
        """For a reader, what the readings, which were shown one by one, say together."""
        parts = [f"Not measured: {', '.join(self.unmeasured)}."] if self.unmeasured else []
        parts += filter(None, [self.summary.text(), sheet_text(self.settings)])
        parts += [f"{hinge_text(hinge)}: find it with `hingeline hinge`" for hinge in self.hinges if hinge.beyond]
        return "\n".join(parts)


def check_throws(runner: Runner, sheet: Sheet, surface: str, surfaces: Sequence[str]) -> SurfaceThrows:
    """Check the throws of one of several surfaces, once the sensors are on it. Raises as `Runner.run`."""
    return measure_throws(runner, sheet, surface, seat_on(runner, sheet, surface, surfaces, by_wiggle=True))


def measure_throws(
    runner: Runner,
    sheet: Sheet,
    surface: str,
    instruments: tuple[Instrument, ...],
    neutral: NeutralReading | None = None,
) -> SurfaceThrows:
    """Measure the throws of a surface by the sensors on it; where it stands at neutral is read first, if it was not.

    Raises as `Runner.run`.
    """
    now_percent = settings_now(runner, sheet, surface)
    cycles = runner.choices.get("cycles", 1)
    begin = Throws(sheet, surface, instruments, None, cycles, now_percent)
    procedure = runner.run(begin if neutral is None else begin.from_neutral(neutral))
    given, check, readings = sheet.surface(surface), procedure.check, last_readings(procedure.readings)
    assert check is not None
    runner.record_result(settings := check.settings)
    summary = summarise(readings, check.positions, chain_of(given.linkage), given_differentials(given))
    return SurfaceThrows(readings, procedure.left_out, summary, check.hinges(), settings)
