"""Datum and drift check: all sensors on one flat, before measuring and after."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from hingeline.checks.results import DriftCheck
from hingeline.errors import NotMeasurable
from hingeline.measure import pipeline
from hingeline.measure.capture import Readings
from hingeline.procedures.procedure import Next, Procedure, Step, Taken
from hingeline.procedures.runner import Runner
from hingeline.storage.calibrations import load_calibration, save_datum
from hingeline.storage.sides import working_sensors
from hingeline.units import counted
from hingeline_calibration.budget import COVERAGE_FACTOR, Budget
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import CLOSURE, LEVEL, Datum

HOLD_S = 2.0
"""Longer than for a reading: the noise of the datum is in every angle from it."""
ELSEWHERE_DEG = 1.0
"""Sensors that all drifted further than this lie somewhere else; common practice, no source."""


@dataclass(frozen=True)
class LayDown(Procedure):
    """Sensors laid on one flat, and for a reversal turned end for end, with the readings of both."""

    sensors: tuple[str, ...]
    reversal: bool = False
    laid: Readings | None = None
    turned: Readings | None = None

    @property
    def step(self) -> Step | None:
        """Lay them, then turn them."""
        if self.laid is None:
            sensors = counted(len(self.sensors), "sensor")
            ask = f"Lay {sensors} on one flat, edges parallel, arrows the same way; let go."
            return Step(ask, self.sensors, hold_s=HOLD_S)
        if not self.reversal or self.turned is not None:
            return None
        ask = "Turn each end for end on its spot, so that every arrow points the other way; let go."
        return Step(ask, self.sensors, hold_s=HOLD_S, all_moved=True)

    def after(self, event: Taken) -> Next[LayDown]:
        """Take the readings."""
        if self.laid is None:
            return Next(replace(self, laid=event.readings), taken="the first laying")
        return Next(replace(self, turned=event.readings), taken="the turned laying")


@dataclass(frozen=True)
class LaidDatum:
    """A datum, the calibrations of the sensors in it, and whether it could be saved on this computer."""

    datum: Datum
    calibrations: Mapping[str, Calibration]
    is_kept: bool

    def reach_deg(self, sensor_id: str, *, layings: int = 1, level: bool = False) -> float:
        """Half the 95 % interval of the angle of a sensor that lies on the flat.

        It was laid there once, or twice to compare both layings. The angle is against level, or the other sensors.
        """
        angle = self.datum.angle(sensor_id, self.datum.gravity[sensor_id], self.calibrations[sensor_id])
        sources = dict(angle.budget.items())
        sources["datum"] *= layings**0.5
        sources.pop(CLOSURE, None)  # a new drift check takes the place of the last one
        if not level:
            sources.pop(LEVEL, None)
        return COVERAGE_FACTOR * Budget.of(sources.items()).standard_uncertainty

    @property
    def lies_elsewhere(self) -> bool:
        """Whether all sensors drifted so far that they lie somewhere else."""
        return min(map(abs, self.datum.drift_deg.values())) > ELSEWHERE_DEG


def take_datum(runner: Runner, reversal: bool) -> LaidDatum:
    """Take the datum of all working sensors. Raises as `Runner.run`."""
    calibrations = _load_calibrations(runner)
    readings = _lay_down(runner, calibrations, reversal)
    datum = pipeline.take_datum(calibrations, *readings, date=runner.started)
    kept = runner.save(lambda: save_datum(runner.store, datum))
    runner.record("datum", taken=datum.to_dict())
    return LaidDatum(datum, calibrations, kept)


def check_drift(runner: Runner) -> tuple[LaidDatum, DriftCheck]:
    """Lay the sensors on the flat of the datum again; how far each drifted is kept with the datum.

    Raises `NotMeasurable` (no sensor of the datum is plugged in), and as `Runner.run`.
    """
    loaded, former = _load_calibrations(runner), runner.datum()
    calibrations = {name: loaded[name] for name in loaded.keys() & former.gravity.keys()}
    if not calibrations:
        raise NotMeasurable(
            f"The datum holds {', '.join(former.gravity)}, none of which is plugged in",
            "Plug in the sensors it was taken with, or take it anew: `hingeline datum`",
        )
    readings = _lay_down(runner, calibrations, former.table_tilt_deg is not None)
    datum = pipeline.close_datum(former, calibrations, *readings)
    kept = runner.save(lambda: save_datum(runner.store, datum))
    result = DriftCheck(dict(datum.drift_deg), datum.date, bool(datum.holds))
    runner.record_result(result)
    return LaidDatum(datum, calibrations, kept), result


def _load_calibrations(runner: Runner) -> dict[str, Calibration]:
    """Load the calibration of every working sensor, with its cautions."""
    sensors = runner.sensors
    calibrations = {name: load_calibration(runner.store, sensors[name]) for name in working_sensors(sensors)}
    runner.heed(calibrations.values())
    return calibrations


def _lay_down(
    runner: Runner, calibrations: Mapping[str, Calibration], reversal: bool
) -> tuple[Readings, Readings | None]:
    laid = runner.run(LayDown(tuple(calibrations), reversal))
    return laid.laid or {}, laid.turned
