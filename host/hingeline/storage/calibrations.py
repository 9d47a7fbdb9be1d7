"""The calibrations and the datum that the store keeps, as what a measurement needs of them."""

from __future__ import annotations

from collections.abc import Mapping

from hingeline.device.samples import SensorInfo
from hingeline.errors import NotMeasurable
from hingeline.measure.pipeline import Instrument
from hingeline.storage.store import Store
from hingeline.units import Side
from hingeline_calibration.calibration import Calibration
from hingeline_calibration.datum import Datum

_ALL_SENSORS = "bench"
"""The key of the one datum that holds all sensors."""


def load_instruments(
    store: Store, sides: Mapping[Side, str], sensors: Mapping[str, SensorInfo]
) -> tuple[Instrument, ...]:
    """Give the sensor of each side its calibration.

    The hinge is taken to run along the carrier's edge, and the model to be still. Raises as `load_calibration`.
    """
    return tuple(
        Instrument(side, sensor_id, load_calibration(store, sensors[sensor_id]))
        for side, sensor_id in sides.items()
    )


def load_calibration(store: Store, sensor: SensorInfo) -> Calibration:
    """Read the current calibration of a sensor that answers now.

    Raises `NotStored`, `DamagedFile`, `NewerFile` (there is no usable calibration); `NotMeasurable` (the calibration is
    of another chip than the one that answers).
    """
    calibration = Calibration.from_dict(store.load("calibration", sensor.sensor_id))
    if (calibration.chip, calibration.counts_per_g) != (sensor.chip, sensor.counts_per_g):
        raise NotMeasurable(
            f"Sensor {sensor.sensor_id} is a {sensor.chip} of {sensor.counts_per_g} counts/g; it was calibrated as a "
            f"{calibration.chip} of {calibration.counts_per_g:g}",
            "Calibrate it again: `hingeline calibrate`",
        )
    return calibration


def save_datum(store: Store, datum: Datum) -> None:
    """Make a datum the current one. Raises `StoreError`."""
    store.save("datum", _ALL_SENSORS, datum.to_dict())


def load_datum(store: Store) -> Datum:
    """Read the current datum. Raises `NotStored`, `DamagedFile`, `NewerFile`."""
    return Datum.from_dict(store.load("datum", _ALL_SENSORS))
