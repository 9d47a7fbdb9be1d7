"""The order of the stages: rests (counts) → gravity → deflection, or angle from the datum → travel.

Frames and signs: DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from hingeline.capture import Rests
from hingeline.errors import NotMeasurable
from hingeline.rig.kinds import Side
from hingeline.samples import SensorInfo
from hingeline.store import Store, now_text
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum
from hingeline_calibration.gravity import Gravity
from hingeline_calibration.hinge import Deflection, deflection

DATUM = "bench"
"""The key under which the store keeps the datum of all sensors."""


@dataclass(frozen=True)
class Instrument:
    """A calibrated sensor on one side of a surface."""

    side: Side
    sensor_id: str
    calibration: Calibration

    def gravity(self, rests: Rests) -> Gravity:
        """Return the gravity of a rest."""
        return self.calibration.gravity(rests[self.sensor_id])

    def deflection(self, neutral: Gravity, now: Gravity) -> Deflection:
        """Return the deflection from neutral. Raises `HingeVertical`."""
        return deflection(neutral, now, self.calibration)

    def angle(self, datum: Datum, now: Gravity) -> Deflection:
        """Return the angle about the hinge from the datum. Raises `HingeVertical`, `OtherSensor`."""
        return datum.angle(self.sensor_id, now, self.calibration)


def instruments(
    store: Store, sides: Mapping[Side, str], sensors: Mapping[str, SensorInfo]
) -> tuple[Instrument, ...]:
    """Return the instrument of each side, with the calibration that the store keeps for its sensor.

    Raises
    ------
    NotStored, DamagedFile, NewerFile
        There is no usable calibration.
    NotMeasurable
        The calibration is of another chip than the one that answers.
    """
    return tuple(
        Instrument(side, sensor_id, calibration_of(store, sensors[sensor_id]))
        for side, sensor_id in sides.items()
    )


def calibration_of(store: Store, sensor: SensorInfo) -> Calibration:
    """Return the calibration kept for a sensor. Raises as `instruments`."""
    calibration = Calibration.from_dict(store.load("calibration", sensor.sensor_id))
    if (calibration.chip, calibration.counts_per_g) != (sensor.chip, sensor.counts_per_g):
        raise NotMeasurable(
            f"Sensor {sensor.sensor_id} is a {sensor.chip} of {sensor.counts_per_g} counts/g; it was calibrated as a "
            f"{calibration.chip} of {calibration.counts_per_g:g}",
            "Calibrate it again: `hingeline calibrate`",
        )
    return calibration


def take_datum(store: Store, calibrations: Mapping[str, Calibration], rests: Rests) -> Datum:
    """Return the datum of one rest of all sensors on one flat, and keep it. Raises `StoreError`."""
    gravity = {name: calibration.gravity(rests[name]) for name, calibration in calibrations.items()}
    datum = Datum.take(gravity, now_text())
    store.save("datum", DATUM, datum.to_dict())
    return datum


def datum_of(store: Store) -> Datum:
    """Return the datum that the store keeps. Raises `NotStored`, `DamagedFile`, `NewerFile`."""
    return Datum.from_dict(store.load("datum", DATUM))
